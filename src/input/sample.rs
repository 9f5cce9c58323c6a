//! How a key may be written: a value that could stand there, told by the key's name and not by its shape alone.
//!
//! What is shown is pasted. A length of `228 mm` is a good one for a butt and a bad one for a kerf, so that each measured key has its
//! own. They are those of the examples; what a mill or log really measures only its owner knows.

use super::schema::{Key, Need, Shape};

/// The end of a key's path, and a value for it as TOML. The first that fits counts.
const SAMPLES: &[(&str, &str)] = &[
    // Jobs.
    ("log.name", "\"G-04\""),
    ("log.length", "\"3.66 m\""),
    ("small_end", "\"215 mm\""),
    ("butt", "\"290 mm\""),
    ("bark", "\"8 mm\""),
    ("bow", "\"20 mm\""),
    ("toward", "\"up\""),
    ("end_trim", "\"25 mm\""),
    ("core.thick", "\"80 mm\""),
    ("core.from", "\"0 m\""),
    ("core.to", "\"1.2 m\""),
    ("metal.from", "\"1.2 m\""),
    ("metal.to", "\"1.3 m\""),
    ("metal.across", "[\"-10 mm\", \"10 mm\"]"),
    ("metal.height", "[\"225 mm\", \"235 mm\"]"),
    ("planing", "\"3 mm\""),
    ("planing_width", "\"6 mm\""),
    ("moisture_percent", "12"),
    ("grain", "\"as_it_lies\""),
    ("radial_percent", "4.8"),
    ("tangential_percent", "7.6"),
    ("variation", "\"0.6 mm\""),
    ("undersize_percent", "5"),
    ("nominal", "\"2 x 6\""),
    ("near_end_at", "\"0.6 m\""),
    ("sawn.bottom", "\"78 mm\""),
    ("sawn.top", "[\"96 mm\", \"110 mm\"]"),
    ("sawn.entry", "\"120 mm\""),
    ("sawn.exit", "\"120 mm\""),
    ("setting.sawn", "{ bottom = \"78 mm\" }"),
    ("offset", "\"10 mm\""),
    ("bed_clearance", "\"25 mm\""),
    ("between_bunks", "\"10 mm\""),
    ("step", "\"0.5 mm\""),
    ("board.name", "\"deck\""),
    ("board.thickness", "\"50 mm\""),
    ("board.width", "\"140 mm\""),
    ("lengths", "[\"3.6 m\", \"2.4 m\"]"),
    ("wane", "\"8 mm\""),
    ("wane.face", "\"15 mm\""),
    ("wane.edge", "\"8 mm\""),
    ("along_percent", "40"),
    ("price", "{ each = 9.50 }"),
    ("each", "9.50"),
    ("per_m", "1.40"),
    ("per_m3", "350"),
    ("per_bf", "1.20"),
    // Mills.
    ("holding_force", "\"800 N\""),
    ("push", "\"250 N\""),
    ("kerf", "\"5.5 mm\""),
    ("radius", "\"230 mm\""),
    ("hub", "\"62 mm\""),
    ("teeth", "6"),
    ("gullet", "\"450 mm2\""),
    ("rim_speed", "\"58 m/s\""),
    ("spin_up", "\"8 s\""),
    ("run_down", "\"25 s\""),
    ("pivot.across", "\"-230 mm\""),
    ("pivot.height", "\"230 mm\""),
    ("swing.time", "\"5 s\""),
    ("flat.travel", "[\"-62 mm\", \"62 mm\"]"),
    ("flat.across", "[\"-292 mm\", \"-168 mm\"]"),
    ("flat.height", "[\"5 mm\", \"160 mm\"]"),
    ("upright.travel", "[\"-62 mm\", \"62 mm\"]"),
    ("upright.across", "[\"-160 mm\", \"-5 mm\"]"),
    ("upright.height", "[\"168 mm\", \"292 mm\"]"),
    ("dog.travel", "[\"870 mm\", \"930 mm\"]"),
    ("dog.across", "[\"130 mm\", \"180 mm\"]"),
    ("dog.height", "[\"0 mm\", \"20 mm\"]"),
    ("keep_out.travel", "[\"2.0 m\", \"2.2 m\"]"),
    ("keep_out.across", "[\"-600 mm\", \"-450 mm\"]"),
    ("keep_out.height", "[\"0 mm\", \"300 mm\"]"),
    ("cover", "\"150 mm\""),
    ("knife_off", "[\"150 mm\", \"110 mm\", \"70 mm\"]"),
    ("knife_on", "[\"150 mm\", \"110 mm\", \"70 mm\"]"),
    ("slowest", "\"0.05 m/s\""),
    ("fastest", "\"0.4 m/s\""),
    ("tooth_bite.least", "\"0.05 mm\""),
    ("tooth_bite.most", "\"3 mm\""),
    ("engine", "\"10 kW\""),
    ("efficiency", "0.8"),
    ("gullet_fill", "0.7"),
    ("homebound_limit.flat", "\"60 mm\""),
    ("homebound_limit.upright", "\"60 mm\""),
    ("widest", "\"200 mm\""),
    ("travel.min", "\"-600 mm\""),
    ("travel.max", "\"7.5 m\""),
    ("travel.rapid", "\"0.8 m/s\""),
    ("travel.acceleration", "\"0.5 m/s2\""),
    ("travel.tolerance", "\"5 mm\""),
    ("across.min", "\"-900 mm\""),
    ("across.max", "\"900 mm\""),
    ("across.rapid", "\"0.1 m/s\""),
    ("height.min", "\"-10 mm\""),
    ("height.max", "\"1100 mm\""),
    ("height.rapid", "\"0.05 m/s\""),
    ("acceleration", "\"0.3 m/s2\""),
    ("tolerance", "\"0.5 mm\""),
    ("setting_time", "\"25 s\""),
    ("bunk.at", "\"0.9 m\""),
    ("bunk.size", "\"150 mm\""),
    ("top", "\"-5 mm\""),
    ("sacrificial", "\"10 mm\""),
    ("wedges.reach", "\"60 mm\""),
    ("wedges.height", "\"20 mm\""),
    ("packing", "\"60 mm\""),
    ("spacing", "\"2.4 m\""),
    ("overhang", "\"1.2 m\""),
    ("sag", "\"2 mm\""),
    ("clearance.bed", "\"25 mm\""),
    ("run_out", "\"60 mm\""),
    ("clearance.body", "\"5 mm\""),
    ("rim_overhang", "\"30 mm\""),
    ("drops", "\"8 kg\""),
    ("tips", "\"50 kg\""),
    ("on_blade", "\"90 kg\""),
    ("walk", "\"12 s\""),
    ("unload", "\"15 s\""),
    ("act", "\"20 s\""),
    ("grid", "\"0.5 mm\""),
    ("dog_hold", "\"300 N\""),
    ("log_max", "\"1500 kg\""),
];

/// The sample that was written for a key, by its path.
fn written(path: &str) -> Option<&'static str> {
    let bare = without_numbers(path);
    let fits = |end: &str| {
        bare.strip_suffix(end)
            .is_some_and(|rest| rest.is_empty() || rest.ends_with('.'))
    };
    let found = SAMPLES.iter().find(|(end, _)| fits(end));
    found.map(|(_, sample)| *sample)
}

/// A path without the numbers of items: `board[1].price` is `board.price`.
pub(super) fn without_numbers(path: &str) -> String {
    let parts = path.split('[').enumerate().map(|(number, part)| {
        if number == 0 {
            part
        } else {
            part.split_once(']').map_or("", |(_, rest)| rest)
        }
    });
    parts.collect()
}

/// How the value at a path may be written, as TOML.
pub(super) fn sample(path: &str, shape: &Shape) -> String {
    if let Some(sample) = written(path) {
        return sample.to_owned();
    }
    match shape {
        Shape::Table(keys) => {
            let pairs: Vec<String> = lines(path, keys).collect();
            format!("{{ {} }}", pairs.join(", "))
        }
        Shape::List { of, min, .. } => format!("[{}]", vec![sample(path, of); (*min).max(1)].join(", ")),
        Shape::Either(shapes) => shapes
            .first()
            .map(|first| sample(path, first))
            .unwrap_or_default(),
        other => other.example(),
    }
}

/// The lines of a table: every key that it needs, or its first.
pub(super) fn lines<'k>(path: &'k str, keys: &'k [Key]) -> impl Iterator<Item = String> + 'k {
    let is_needed = |key: &&Key| matches!(key.need, Need::Must);
    let needed = keys.iter().filter(is_needed).count();
    let kept = keys.iter().filter(move |key| needed == 0 || is_needed(key));
    kept.take(needed.max(1)).map(move |key| {
        format!(
            "{} = {}",
            key.name,
            sample(&format!("{path}.{}", key.name), &key.shape)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::read_value;

    /// Every key of jobs and mills with its path.
    fn keys(path: &str, keys: &'static [Key], found: &mut Vec<(String, &'static Key)>) {
        for key in keys {
            let path = if path.is_empty() {
                key.name.to_owned()
            } else {
                format!("{path}.{}", key.name)
            };
            inside(&path, &key.shape, found);
            found.push((path, key));
        }
    }

    fn inside(path: &str, shape: &'static Shape, found: &mut Vec<(String, &'static Key)>) {
        match shape {
            Shape::Table(inner) => keys(path, inner, found),
            Shape::List { of, .. } => inside(path, of, found),
            Shape::Either(shapes) => shapes.iter().for_each(|shape| inside(path, shape, found)),
            _ => {}
        }
    }

    fn all() -> Vec<(String, &'static Key)> {
        let mut found = Vec::new();
        keys("", crate::job::KEYS, &mut found);
        keys("", crate::mill::KEYS, &mut found);
        found
    }

    /// What is shown can be pasted: it is read without a word. Nothing is shown that is measured and was not thought of.
    #[test]
    fn every_sample_is_what_its_key_takes() {
        for (path, key) in all() {
            let shown = sample(&path, &key.shape);
            assert_eq!(read_value(&shown, &key.shape), None, "{path} = {shown}");
            if matches!(key.need, Need::Must) && key.shape.is_measured() {
                assert!(written(&path).is_some(), "{path} has no sample");
            }
        }
    }

    #[test]
    fn no_sample_is_for_a_key_that_is_not_there() {
        let all = all();
        for (end, sample) in SAMPLES {
            let used = all
                .iter()
                .any(|(path, _)| written(path) == Some(sample) && path.ends_with(end));
            assert!(used, "{end}");
        }
    }

    #[test]
    fn numbers_of_items_do_not_count() {
        assert_eq!(without_numbers("board[12].price"), "board.price");
        assert_eq!(without_numbers("head.flat[1].travel[2]"), "head.flat.travel");
        assert_eq!(written("board[1].width"), Some("\"140 mm\""));
        assert_eq!(written("kerfs"), None);
    }
}
