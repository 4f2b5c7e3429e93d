//! The scale alone: photo → whole-picture checks → scale → picture of it.

use super::{ScaleRequest, ScaleSource, guarded};
use crate::photo::{self, Limits as PhotoLimits};
use crate::record::{PhotoFacts, Reason, ScaleFacts};
use crate::{report, scale};

/// How the scale of one photograph was read.
#[derive(Clone, Debug)]
pub struct ScaleReading {
    /// What is known of the photograph.
    pub photo: PhotoFacts,
    /// The scale, `px_per_mm` at the middle of the picture; or why there is none.
    pub scale: Result<ScaleFacts, Vec<Reason>>,
    /// The photograph with every mark used drawn into it, a JPEG file; `None`
    /// when the file could not be read as a picture.
    pub picture: Option<Vec<u8>>,
}

/// Reads the scale of a photograph and measures nothing with it.
///
/// `bytes` are the file's bytes, `file_name` its name without the folder. Never
/// fails: why no scale could be read is part of the answer.
pub fn read_scale(bytes: &[u8], file_name: &str, request: &ScaleRequest) -> ScaleReading {
    let (photo, facts) = match photo::read(bytes, file_name, &PhotoLimits::default()) {
        Ok(read) => read,
        Err(refused) => {
            return ScaleReading {
                photo: refused.facts,
                scale: Err(vec![refused.reason]),
                picture: None,
            };
        }
    };
    let read = guarded(|| match photo::precheck(&photo) {
        reasons if reasons.is_empty() => scale::find(&photo, request).map_err(|reason| {
            let mut reasons = vec![reason];
            super::add_faults(&photo, &mut reasons);
            reasons
        }),
        reasons => Err(reasons),
    });
    let scale = match read {
        Ok(answer) => answer.map(|scale| scale.facts),
        Err(fault) => Err(vec![fault]),
    };
    let picture = report::scale_picture(
        &photo.rgb,
        photo.width,
        photo.height,
        scale.as_ref().map_err(Vec::as_slice),
    )
    .inspect_err(|error| tracing::error!(%error, "no picture of the scale"))
    .ok();
    ScaleReading {
        photo: facts,
        scale,
        picture,
    }
}

/// The name of the coupon whose scale card a photograph shows; `None` when no card
/// was read or it carries no name. Draws nothing.
pub fn coupon_on_card(bytes: &[u8], file_name: &str) -> Option<String> {
    let (photo, _) = photo::read(bytes, file_name, &PhotoLimits::default()).ok()?;
    let request = ScaleRequest::of(ScaleSource::Card);
    guarded(|| scale::find(&photo, &request))
        .ok()?
        .ok()?
        .coupon_id
}
