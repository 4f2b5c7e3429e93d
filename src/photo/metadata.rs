//! What the camera wrote beside the picture (EXIF), as far as it helps to judge
//! the scale.

use exif::{Exif, In, Tag, Value};

/// Half the diagonal of the 36 mm × 24 mm frame that 35 mm film equivalents
/// refer to (CIPA DC-008, tag 41989), mm.
const FILM_HALF_DIAGONAL_MM: f64 = 21.633;

/// What the metadata say.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Metadata {
    /// Facts in words.
    pub notes: Vec<String>,
    /// Focal length over half the picture's diagonal; `None` when it is not
    /// stated, or when the picture is no longer the one that was taken.
    pub focal_half_diagonals: Option<f64>,
}

impl Metadata {
    /// Reads the EXIF block `raw` of a picture of `width` × `height` px as stored.
    pub fn read(raw: Vec<u8>, width: u32, height: u32) -> Self {
        let Some(exif) = fields(raw) else {
            return Self {
                notes: vec!["EXIF data are damaged and were ignored".into()],
                focal_half_diagonals: None,
            };
        };
        let usable = |tag| number(&exif, tag).filter(|v| v.is_finite() && *v > 0.0);
        let mut notes = Vec::new();
        let focal_mm = usable(Tag::FocalLength);
        notes.extend(focal_mm.map(|f| format!("EXIF focal length {f} mm")));
        let film_mm = usable(Tag::FocalLengthIn35mmFilm);
        notes.extend(film_mm.map(|f| format!("EXIF focal length {f} mm (35 mm film equivalent)")));
        if let Some(d) = usable(Tag::SubjectDistance) {
            notes.push(format!("EXIF subject distance {d} m"));
        }
        // Enlarging a part of the sensor's picture lengthens the focal length in
        // its diagonals; whether the equivalent counts that in differs by maker.
        let zoom = usable(Tag::DigitalZoomRatio).filter(|z| *z > 1.0);
        notes.extend(zoom.map(|z| format!("EXIF digital zoom {z} times")));
        let taken = usable(Tag::PixelXDimension).zip(usable(Tag::PixelYDimension));
        let (w, h) = (f64::from(width), f64::from(height));
        let changed = taken.filter(|t| *t != (w, h) && *t != (h, w));
        notes.extend(changed.map(|(x, y)| {
            format!(
                "EXIF says {x} × {y} pixels were taken: the picture was cropped or resized since"
            )
        }));
        let as_taken = zoom.is_none() && changed.is_none();
        let from_film = || Some(film_mm? / FILM_HALF_DIAGONAL_MM);
        let from_sensor = || Some(focal_mm? * px_per_mm_of_sensor(&exif)? / (0.5 * w.hypot(h)));
        Self {
            notes,
            focal_half_diagonals: from_film()
                .or_else(from_sensor)
                .filter(|f| as_taken && PLAUSIBLE.contains(f)),
        }
    }
}

/// From a fisheye's to a long telephoto lens's focal length, half diagonals; what
/// lies beyond is a camera that does not know its lens.
const PLAUSIBLE: std::ops::Range<f64> = 0.4..30.0;

/// Pixels a millimetre of the sensor (CIPA DC-008, tags 41486 and 41488).
fn px_per_mm_of_sensor(exif: &Exif) -> Option<f64> {
    let unit_mm = match number(exif, Tag::FocalPlaneResolutionUnit).unwrap_or(2.0) {
        2.0 => 25.4,
        3.0 => 10.0,
        _ => return None,
    };
    number(exif, Tag::FocalPlaneXResolution).map(|r| r / unit_mm)
}

fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(v) => v.first().map(|r| r.to_f64()),
        value => value.get_uint(0).map(f64::from),
    }
}

/// The fields of an EXIF block or a TIFF file; of a damaged one what is readable.
pub(super) fn fields(raw: Vec<u8>) -> Option<Exif> {
    let mut reader = exif::Reader::new();
    reader.continue_on_error(true);
    match reader.read_raw(raw) {
        Ok(exif) => Some(exif),
        Err(e) => e.distill_partial_result(|_| {}).ok(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use exif::experimental::Writer;
    use exif::{Field, Rational};

    fn metadata(fields: &[(Tag, Value)]) -> Metadata {
        let fields: Vec<Field> = fields
            .iter()
            .map(|(tag, value)| Field {
                tag: *tag,
                ifd_num: In::PRIMARY,
                value: value.clone(),
            })
            .collect();
        let mut writer = Writer::new();
        fields.iter().for_each(|f| writer.push_field(f));
        let mut raw = std::io::Cursor::new(Vec::new());
        writer.write(&mut raw, false).unwrap();
        Metadata::read(raw.into_inner(), 4000, 3000)
    }

    fn rational(num: u32, denom: u32) -> Value {
        Value::Rational(vec![Rational { num, denom }])
    }

    fn size(x: u32, y: u32) -> [(Tag, Value); 2] {
        [
            (Tag::PixelXDimension, Value::Long(vec![x])),
            (Tag::PixelYDimension, Value::Long(vec![y])),
        ]
    }

    #[test]
    fn the_film_equivalent_gives_the_angle_of_view() {
        // A 50 mm lens on the 36 mm × 24 mm frame sees 46.8° along the diagonal
        // (photography handbooks, from memory).
        let field = (Tag::FocalLengthIn35mmFilm, Value::Short(vec![50]));
        let focal = metadata(&[field]).focal_half_diagonals.unwrap();
        let angle = 2.0 * (1.0 / focal).atan().to_degrees();
        assert!((angle - 46.8).abs() < 0.05, "{angle}");
    }

    #[test]
    fn the_sensor_s_resolution_serves_where_no_equivalent_is_stated() {
        // 8 mm focal length, 500 px a sensor millimetre (5000 a centimetre):
        // 4000 px over the half diagonal of 2500 px.
        let fields = [
            (Tag::FocalLength, rational(80, 10)),
            (Tag::FocalPlaneXResolution, rational(5000, 1)),
            (Tag::FocalPlaneResolutionUnit, Value::Short(vec![3])),
        ];
        let focal = metadata(&fields).focal_half_diagonals.unwrap();
        assert!((focal - 1.6).abs() < 1e-9, "{focal}");
        assert_eq!(metadata(&fields[..1]).focal_half_diagonals, None);
    }

    #[test]
    fn a_picture_that_is_not_as_taken_has_no_focal_length() {
        let film = (Tag::FocalLengthIn35mmFilm, Value::Short(vec![26]));
        let with = |more: &[(Tag, Value)]| {
            let mut all = vec![film.clone()];
            all.extend_from_slice(more);
            metadata(&all)
        };
        assert!(with(&size(4000, 3000)).focal_half_diagonals.is_some());
        assert!(with(&size(3000, 4000)).focal_half_diagonals.is_some());
        let cropped = with(&size(8000, 3000));
        assert_eq!(cropped.focal_half_diagonals, None);
        assert!(cropped.notes.iter().any(|n| n.contains("cropped")));
        let zoomed = with(&[(Tag::DigitalZoomRatio, rational(2, 1))]);
        assert_eq!(zoomed.focal_half_diagonals, None);
        let nonsense = metadata(&[(Tag::FocalLengthIn35mmFilm, Value::Short(vec![2]))]);
        assert_eq!(nonsense.focal_half_diagonals, None);
    }
}
