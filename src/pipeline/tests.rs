use super::section::MAIN_JOB;
use super::*;
use crate::record::catalogue::SECTION;

fn measured(names: &[&str]) -> BTreeMap<String, Measurement> {
    names
        .iter()
        .map(|n| ((*n).to_owned(), Measurement::measured(5.0, 0.1, Vec::new())))
        .collect()
}

fn reason(code: Code) -> Reason {
    Reason::new(code, "what", "do")
}

#[test]
fn a_reason_that_spoils_numbers_makes_the_record_partly_measured() {
    let all = measured(MAIN_JOB);
    assert_eq!(status(Some(0), &all, &[], MAIN_JOB), Status::Measured);
    for code in SPOILING {
        assert_eq!(
            status(Some(0), &all, &[reason(code)], MAIN_JOB),
            Status::PartlyMeasured
        );
    }
    assert_eq!(
        status(Some(0), &measured(&MAIN_JOB[..2]), &[], MAIN_JOB),
        Status::PartlyMeasured
    );
    assert_eq!(
        status(Some(0), &measured(&[]), &[], MAIN_JOB),
        Status::Refused
    );
    assert_eq!(status(None, &all, &[], MAIN_JOB), Status::Refused);
}

#[test]
fn a_file_that_is_no_picture_still_leaves_a_complete_record() {
    let request = Request {
        limits: Some(Profile::named("iso5817-c").unwrap()),
        ..Request::default()
    };
    let outcome = measure_section(b"shopping list", "HR-03.jpg", &request);
    let record = &outcome.record;
    assert!(outcome.annotated.is_none());
    assert_eq!(record.status, Status::Refused);
    assert_eq!(record.reasons[0].code, Code::UnreadableFile);
    assert_eq!(record.photo.sha256.len(), 64);
    assert_eq!(record.measurements.len(), SECTION.len());
    for m in record.measurements.values() {
        assert_eq!(m.status, MeasurementStatus::NotAssessed);
        assert!(m.why.as_deref().unwrap().contains("refused"));
    }
    let verdict = record.verdict.as_ref().unwrap();
    assert_eq!(verdict.outcome, crate::record::Outcome::NotAssessed);
}

#[test]
fn the_seed_comes_from_the_bytes() {
    let seed_of = |bytes: &[u8]| {
        measure_section(bytes, "x", &Request::default())
            .record
            .provenance
            .random_seed
    };
    assert_eq!(seed_of(b"abc"), 0xba78_16bf_8f01_cfea);
    assert_ne!(seed_of(b"abc"), seed_of(b"abd"));
}

#[test]
fn a_fault_of_ours_becomes_a_reason() {
    assert_eq!(guarded(|| 7).unwrap(), 7);
    let reason = guarded(|| panic!("on purpose")).unwrap_err();
    assert_eq!(reason.code, Code::InternalFault);
}
