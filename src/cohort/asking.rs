//! From what is kept of a question to the pipeline's own terms, and back.

use super::sheet::Line;
use crate::archive::sha256;
use crate::pipeline::{
    Decision, LimitsError, PhotoLimits, Profile, Request, ScaleRequest, ScaleSource,
};
use crate::record::{Asked, AskedLimits, Coupon, Kind};
use std::collections::BTreeMap;

/// The version of this program, part of every key.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The key under which an answer is found again: same photograph, same question,
/// same version. Two of them are equal only when all three are.
pub fn key(photograph: &str, asked: &Asked) -> String {
    let question = serde_json::to_string(asked).unwrap_or_default();
    sha256(format!("{photograph}\n{question}\n{VERSION}").as_bytes())
}

/// What a line asks of its photographs of that kind. A coupon's length and what is
/// declared of a break only belong to fracture faces.
pub fn asked(line: &Line, kind: Kind, limits: Option<AskedLimits>) -> Asked {
    let declared = match kind {
        Kind::Fracture => line.declared.clone(),
        Kind::Section => Coupon {
            bent_flat: false,
            root_side: None,
            length_mm: None,
            ..line.declared.clone()
        },
    };
    let scale = match (kind, line.scale) {
        (Kind::Section, ScaleSource::CouponLength { .. }) => ScaleSource::Auto,
        (_, scale) => scale,
    };
    Asked {
        kind,
        coupon: declared,
        scale: scale.to_string(),
        rule_class: line.rule_class.to_string(),
        card_line_mm: line.card_line_mm,
        limits: limits.map(|limits| AskedLimits {
            decision: line.decision.map(|decision| decision.to_string()),
            ..limits
        }),
    }
}

/// Limits by name or path, and which kind of photograph they are for. Of a file
/// the whole text is kept, so that it can be compared with again.
///
/// # Errors
/// There are none of that name, or the file is no profile.
pub fn limits(name: &str) -> Result<(AskedLimits, Kind), LimitsError> {
    let profile = Profile::load(name)?;
    let built_in = Profile::named(name).is_ok_and(|named| named.name == profile.name);
    let text = match built_in {
        true => None,
        false => Some(Profile::text(name)?),
    };
    let limits = AskedLimits {
        name: profile.name,
        text,
        decision: None,
    };
    Ok((limits, profile.kind))
}

/// The pipeline's request.
///
/// # Errors
/// A text in it is not understood by this version.
pub fn request(asked: &Asked) -> Result<Request, String> {
    let limits = asked.limits.as_ref().map(|limits| {
        let profile = match &limits.text {
            Some(text) => Profile::parse(&limits.name, text),
            None => Profile::named(&limits.name),
        };
        let profile = profile.and_then(|profile| profile.for_kind(asked.kind));
        let profile = profile.map_err(|error| error.to_string())?;
        let decision = match &limits.decision {
            Some(text) => text.parse::<Decision>()?,
            None => profile.decision,
        };
        Ok::<_, String>(Profile {
            decision,
            ..profile
        })
    });
    let request = Request {
        coupon: asked.coupon.clone(),
        scale: ScaleRequest {
            source: asked.scale.parse()?,
            offset_mm: asked.coupon.scale_offset_mm,
            rule_class: asked.rule_class.parse()?,
            card_line_mm: asked.card_line_mm,
        },
        limits: limits.transpose()?,
        photo_limits: PhotoLimits::default(),
        settings: BTreeMap::new(),
    };
    Ok(request.described(asked.kind))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::Sheet;

    fn line(text: &str) -> Line {
        let sheet = Sheet::read(text.as_bytes()).unwrap();
        assert!(sheet.faults.is_empty(), "{:?}", sheet.faults);
        sheet.lines[0].clone()
    }

    #[test]
    fn a_question_that_was_kept_is_asked_again_as_it_was() {
        let line = line(
            "coupon,leg,scale,scale_offset,rule_class,decision,root_side,section,fracture\n\
             HR-01,6,rule-mm,0.5,I,simple,top,a.jpg,b.jpg\n",
        );
        let (limits, kind) = limits("ISO5817-C").unwrap();
        assert_eq!((kind, limits.text.as_deref()), (Kind::Section, None));
        let section = asked(&line, Kind::Section, Some(limits));
        let kept: Asked = serde_json::from_str(&serde_json::to_string(&section).unwrap()).unwrap();
        assert_eq!(kept, section);
        let request = request(&kept).unwrap();
        assert_eq!(request.coupon.leg_mm, Some(6.0));
        assert_eq!(request.coupon.root_side, None);
        assert_eq!(request.scale.source, ScaleSource::RuleMm);
        assert_eq!(request.scale.offset_mm, Some(0.5));
        assert_eq!(request.scale.rule_class.to_string(), "I");
        assert_eq!(request.limits.unwrap().decision, Decision::Simple);
        assert_eq!(request.settings["limits"], "iso5817-c");
        let broken = asked(&line, Kind::Fracture, None);
        assert!(broken.coupon.root_side.is_some());
    }

    #[test]
    fn limits_of_one_s_own_are_kept_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("own.toml");
        std::fs::write(&path, Profile::text("iso5817-c-break").unwrap()).unwrap();
        let (limits, kind) = limits(path.to_str().unwrap()).unwrap();
        assert_eq!((limits.name.as_str(), kind), ("own", Kind::Fracture));
        std::fs::remove_file(&path).unwrap();
        let mut asked = asked(&line("coupon\nHR-01\n"), Kind::Fracture, Some(limits));
        assert_eq!(request(&asked).unwrap().limits.unwrap().name, "own");
        asked.kind = Kind::Section;
        assert!(request(&asked).unwrap_err().contains("broken welds"));
    }

    #[test]
    fn another_photograph_setting_or_version_is_another_key() {
        let mut question = asked(&line("coupon\nHR-01\n"), Kind::Section, None);
        let first = key("a", &question);
        assert_eq!(first, key("a", &question));
        assert_ne!(first, key("b", &question));
        question.coupon.leg_mm = Some(6.0);
        assert_ne!(first, key("a", &question));
    }
}
