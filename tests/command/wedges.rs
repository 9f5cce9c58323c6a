//! A layer over a bunk that is packed, through the whole tool.

use std::fs;

use bunkside::command::Exit;

use super::{folder, quiet};

/// 300 mm to 200 mm over 4.8 m, its centre line level: the underside rises by half the taper, 50 mm over 4.8 m. The far
/// bunk stands 4.6 m along, so that 50 × 4.6/4.8 = 47.917 mm are packed there; wedges of 20 mm stand on that, and 25 mm
/// are kept over them: 92.917 mm. On the bare bunk they would have ended at 20 mm.
#[test]
fn a_kerf_keeps_clear_of_wedges_that_stand_on_a_pack() {
    let folder = folder("wedges-on-a-pack");
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/powered-165.toml");
    let job = format!(
        "mill = \"{mills}\"\nunit = \"mm\"\n\n[log]\nname = \"W-1\"\nspecies = \"western hemlock\"\nlength = 4800\n\
         small_end = 200\nbutt = 300\nbutt_at = \"near\"\n\n[setting]\nlevel = \"centre\"\nnear_end_at = 600\n\n\
         [[board]]\nname = \"plank\"\nthickness = 50\nwidth = 100\nlengths = [4800]\nprice = {{ each = 9 }}\n"
    );
    fs::write(folder.join("w-1.toml"), job).unwrap();
    let sawn = |floor: &str, exit: Exit| {
        let plan = format!(
            "plan \"W-1\"\nlayer down to 203.5 mm\n  slab\nlayer down to 148 mm\n  slab\nlayer down to {floor} mm\n  slab\n"
        );
        fs::write(folder.join("low.cut"), plan).unwrap();
        quiet(&folder, "sequence {}/low.cut --job {}/w-1.toml -o {}/out", exit)
    };
    let low = sawn("92.9", Exit::Refused);
    assert!(low.contains("refused: bed-clear"), "{low}");
    assert!(low.contains("found 24.983 mm, the limit is 25 mm"), "{low}");
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    assert!(report.contains("67.9 mm (2 21/32 in) at bunk 4"), "wedges' tops");
    let high = sawn("93", Exit::Good);
    assert!(high.contains("none of N rules objects"), "{high}");
    // What lays the boards out keeps to the same.
    quiet(&folder, "plan {}/w-1.toml -o {}/laid", Exit::Good);
    let plan = fs::read_to_string(folder.join("laid/plan.cut")).unwrap();
    let floors = plan.lines().filter_map(|line| {
        let told = line.strip_prefix("layer down to ")?;
        told.split_whitespace().next()?.parse::<f64>().ok()
    });
    let lowest = floors.fold(f64::INFINITY, f64::min);
    assert!((93.0..94.0 + 55.0).contains(&lowest), "{lowest}");
}
