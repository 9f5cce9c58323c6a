//! Makes values of any record out of thin air, and writes down the shape of what was asked for.
//!
//! A record's own `Deserialize` names its fields, their order and their types. Asked often enough it names every
//! variant of every enum as well: that is the shape which the bytes follow.

use std::collections::BTreeMap;

use serde::de::{
    self, Deserialize, DeserializeSeed, Deserializer, EnumAccess, SeqAccess, VariantAccess, Visitor,
};

use super::dice::Dice;

/// Why no value could be made: a record refused what it was given.
#[derive(Debug)]
pub(crate) struct Refused(pub(crate) String);

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refused {}

impl de::Error for Refused {
    fn custom<T: std::fmt::Display>(why: T) -> Self {
        Self(why.to_string())
    }
}

/// Variant by variant, what it holds; none where it was not met yet.
type Variants = Vec<(&'static str, Option<String>)>;

/// What was asked for so far, and how to answer.
#[derive(Default)]
pub(crate) struct Maker {
    dice: Option<Dice>,
    structs: BTreeMap<&'static str, String>,
    enums: BTreeMap<&'static str, Variants>,
    /// The type that was asked for last.
    last: String,
}

impl Maker {
    /// One that answers as the dice fall.
    pub(crate) fn random(seed: u64) -> Self {
        Self {
            dice: Some(Dice::new(seed)),
            ..Self::default()
        }
    }

    pub(crate) fn make<'de, T: Deserialize<'de>>(&mut self) -> Result<T, Refused> {
        T::deserialize(self)
    }

    /// Asks until every variant was met, and gives the shape, one type a line, in the order of their names.
    pub(crate) fn shape<'de, T: Deserialize<'de>>(&mut self) -> Result<(), Refused> {
        for _ in 0..1000 {
            self.make::<T>()?;
            if self.enums.values().flatten().all(|(_, holds)| holds.is_some()) {
                return Ok(());
            }
        }
        Err(Refused("a variant was never met".into()))
    }

    pub(crate) fn lines(&self) -> Vec<String> {
        let structs = self
            .structs
            .iter()
            .map(|(name, fields)| format!("struct {name} {{ {fields} }}"));
        let enums = self.enums.iter().map(|(name, variants)| {
            let variants: Vec<_> = variants
                .iter()
                .map(|(name, holds)| format!("{name}{}", holds.as_deref().unwrap_or("?")))
                .collect();
            format!("enum {name} {{ {} }}", variants.join(", "))
        });
        let mut lines: Vec<_> = structs.chain(enums).collect();
        lines.sort_by_key(|line| line.split(' ').nth(1).map(str::to_owned));
        lines
    }

    fn number(&mut self, low: i64, high: i64) -> i64 {
        let Some(dice) = &mut self.dice else { return 0 };
        let bits = dice.between(0, 40);
        dice.between(low, high) >> bits
    }

    fn fields<'de, V: Visitor<'de>>(
        &mut self,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<(V::Value, String), Refused> {
        let mut parts = Parts {
            maker: self,
            left: names.len(),
            types: Vec::new(),
        };
        let value = visitor.visit_seq(&mut parts)?;
        let types = parts.types;
        let fields: Vec<_> = names
            .iter()
            .zip(types)
            .map(|(name, kind)| format!("{name}: {kind}"))
            .collect();
        Ok((value, fields.join(", ")))
    }
}

struct Parts<'m> {
    maker: &'m mut Maker,
    left: usize,
    types: Vec<String>,
}

impl<'de> SeqAccess<'de> for &mut Parts<'_> {
    type Error = Refused;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Refused> {
        let Some(left) = self.left.checked_sub(1) else {
            return Ok(None);
        };
        self.left = left;
        let value = seed.deserialize(&mut *self.maker)?;
        self.types.push(self.maker.last.clone());
        Ok(Some(value))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left)
    }
}

macro_rules! numbers {
    ($($ask:ident $visit:ident $kind:ident $low:expr, $high:expr;)*) => {
        $(fn $ask<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
            self.last = stringify!($kind).into();
            visitor.$visit($kind::try_from(self.number($low, $high)).unwrap())
        })*
    };
}

macro_rules! not_used {
    ($($ask:ident)*) => {
        $(fn $ask<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Refused> {
            Err(Refused(concat!("records have no use for ", stringify!($ask)).into()))
        })*
    };
}

impl<'de> Deserializer<'de> for &mut Maker {
    type Error = Refused;

    numbers! {
        deserialize_i8 visit_i8 i8 -128, 127;
        deserialize_i16 visit_i16 i16 -32_768, 32_767;
        deserialize_i32 visit_i32 i32 -100_000_000, 100_000_000;
        deserialize_i64 visit_i64 i64 -1_000_000_000, 1_000_000_000;
        deserialize_u8 visit_u8 u8 0, 255;
        deserialize_u16 visit_u16 u16 0, 4095;
        deserialize_u32 visit_u32 u32 0, 200_000_000;
        deserialize_u64 visit_u64 u64 0, 1_000_000_000;
    }

    not_used! {
        deserialize_any deserialize_f32 deserialize_f64 deserialize_char deserialize_str deserialize_string
        deserialize_bytes deserialize_byte_buf deserialize_unit deserialize_map deserialize_identifier
        deserialize_ignored_any
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        self.last = "bool".into();
        visitor.visit_bool(self.number(0, 1) == 1)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        if self.dice.as_mut().is_some_and(|dice| dice.once_in(3)) {
            return visitor.visit_none();
        }
        let value = visitor.visit_some(&mut *self)?;
        self.last = format!("Option<{}>", self.last);
        Ok(value)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        let left = self.dice.as_mut().map_or(1, |dice| dice.below(4) as usize);
        let mut parts = Parts {
            maker: self,
            left,
            types: Vec::new(),
        };
        let value = visitor.visit_seq(&mut parts)?;
        let kind = parts.types.first().cloned().unwrap_or_default();
        self.last = format!("Vec<{kind}>");
        Ok(value)
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Refused> {
        let mut parts = Parts {
            maker: self,
            left: len,
            types: Vec::new(),
        };
        let value = visitor.visit_seq(&mut parts)?;
        let kind = parts.types.first().cloned().unwrap_or_default();
        let alike = parts.types.iter().all(|other| *other == kind);
        // A random list may be empty, and then has no type.
        assert!(
            alike || self.dice.is_some(),
            "tuples of different types are not written down"
        );
        self.last = format!("[{kind}; {len}]");
        Ok(value)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        _len: usize,
        _visitor: V,
    ) -> Result<V::Value, Refused> {
        Err(Refused(format!(
            "records have no use for the tuple struct {name}"
        )))
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(self, name: &'static str, _: V) -> Result<V::Value, Refused> {
        Err(Refused(format!(
            "records have no use for the empty struct {name}"
        )))
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Refused> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refused> {
        let (value, fields) = self.fields(fields, visitor)?;
        if self.dice.is_none() {
            self.structs.insert(name, fields);
        }
        self.last = name.into();
        Ok(value)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refused> {
        let seen = self
            .enums
            .entry(name)
            .or_insert_with(|| variants.iter().map(|variant| (*variant, None)).collect());
        let unseen = seen.iter().position(|(_, holds)| holds.is_none()).unwrap_or(0);
        let index = match &mut self.dice {
            Some(dice) => dice.below(variants.len() as u64) as usize,
            None => unseen,
        };
        let value = visitor.visit_enum(Variant {
            maker: &mut *self,
            name,
            index,
        })?;
        self.last = name.into();
        Ok(value)
    }
}

struct Variant<'m> {
    maker: &'m mut Maker,
    name: &'static str,
    index: usize,
}

impl Variant<'_> {
    fn holds(self, what: String) {
        if let Some(variants) = self.maker.enums.get_mut(self.name) {
            variants[self.index].1 = Some(what);
        }
    }
}

impl<'de> EnumAccess<'de> for Variant<'_> {
    type Error = Refused;
    type Variant = Self;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Self), Refused> {
        let index = u32::try_from(self.index).unwrap();
        let value = seed.deserialize(de::value::U32Deserializer::new(index))?;
        Ok((value, self))
    }
}

impl<'de> VariantAccess<'de> for Variant<'_> {
    type Error = Refused;

    fn unit_variant(self) -> Result<(), Refused> {
        self.holds(String::new());
        Ok(())
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Refused> {
        let value = seed.deserialize(&mut *self.maker)?;
        let what = format!("({})", self.maker.last);
        self.holds(what);
        Ok(value)
    }

    fn tuple_variant<V: Visitor<'de>>(self, _len: usize, _visitor: V) -> Result<V::Value, Refused> {
        Err(Refused(format!(
            "variants with several unnamed fields are not written down: {}",
            self.name
        )))
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refused> {
        let (value, fields) = self.maker.fields(fields, visitor)?;
        self.holds(format!(" {{ {fields} }}"));
        Ok(value)
    }
}
