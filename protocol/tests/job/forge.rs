//! Makes a stored job from any parts, right or wrong, by the written specification and without the code under
//! test, so that what stands behind the check sums can be reached.

use bunkside_protocol::job::SCHEMA_KEY;

use super::crc::by_definition;

#[derive(Clone, Copy)]
pub(crate) struct Parts<'a> {
    pub(crate) flags: u8,
    pub(crate) grid: u32,
    pub(crate) count: u32,
    pub(crate) log: &'a [u8],
    pub(crate) code: &'a [u8],
    pub(crate) tag: Option<[u8; 16]>,
}

pub(crate) fn job(parts: &Parts<'_>) -> Vec<u8> {
    let mut header = b"BUNK\x01".to_vec();
    header.push(parts.flags);
    header.extend(u16::try_from(parts.log.len()).unwrap().to_le_bytes());
    header.extend(SCHEMA_KEY.to_le_bytes());
    header.extend(parts.grid.to_le_bytes());
    header.extend(parts.count.to_le_bytes());
    header.extend(u32::try_from(parts.code.len()).unwrap().to_le_bytes());
    header.extend([0x5A; 16]);
    let tag = parts.tag.as_ref().map(|tag| &tag[..]);
    let records = [&header[..], parts.log]
        .into_iter()
        .chain(parts.code.chunks(4092))
        .chain(tag);
    let mut out = Vec::new();
    let mut before = 0;
    for record in records {
        before = seal(before, record);
        out.extend(record);
        out.extend(before.to_le_bytes());
    }
    out
}

fn seal(before: u32, record: &[u8]) -> u32 {
    let len = u32::try_from(record.len()).unwrap();
    let all = [
        &SCHEMA_KEY.to_le_bytes()[..],
        &before.to_le_bytes(),
        &len.to_le_bytes(),
        record,
    ]
    .concat();
    by_definition(0xF4AC_FB13, &all)
}
