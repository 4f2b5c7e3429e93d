//! The example sheet: three examiners of the Harbour Row evening workshop, an invented
//! place, at six coupons, twice each.

/// A coupon's name, two looks of three examiners each, and their verdicts.
type Made = (&'static str, [[u32; 2]; 3], [&'static str; 3]);

/// Coupon, then for A, B and C the legs of both looks in hundredths of a millimetre, then
/// the verdicts of both looks: w within, o outside, t too close to call.
const COUPONS: [Made; 6] = [
    (
        "HR-01",
        [[612, 618], [625, 622], [610, 615]],
        ["ww", "ww", "ww"],
    ),
    (
        "HR-02",
        [[548, 541], [555, 560], [540, 546]],
        ["oo", "ot", "oo"],
    ),
    (
        "HR-03",
        [[703, 708], [711, 716], [700, 704]],
        ["ww", "ww", "ww"],
    ),
    (
        "HR-04",
        [[589, 595], [604, 598], [586, 590]],
        ["tt", "ww", "to"],
    ),
    (
        "HR-05",
        [[502, 507], [514, 510], [499, 505]],
        ["oo", "oo", "oo"],
    ),
    (
        "HR-06",
        [[651, 647], [660, 657], [645, 652]],
        ["ww", "ww", "ww"],
    ),
];

/// The text of a sheet to fill in; its lines show how.
pub fn example() -> String {
    let mut lines = vec!["coupon,examiner,look,leg_mm,verdict,note".to_owned()];
    for look in 0..2 {
        for (examiner, name) in ["A", "B", "C"].iter().enumerate() {
            for (coupon, legs, words) in &COUPONS {
                let leg = legs[examiner][look];
                let word = match words[examiner].as_bytes()[look] {
                    b'w' => "within",
                    b'o' => "outside",
                    _ => "too close to call",
                };
                lines.push(format!(
                    "{coupon},{name},{},{}.{:02},{word},",
                    look + 1,
                    leg / 100,
                    leg % 100
                ));
            }
        }
    }
    lines.join("\n") + "\n"
}
