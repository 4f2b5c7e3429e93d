use super::*;
use crate::record::{Cracks, JointType};

fn read(text: &str) -> Sheet {
    Sheet::read(text.as_bytes()).unwrap()
}

/// The only fault of a sheet of one line with that cell.
fn fault(column: &str, cell: &str) -> SheetFault {
    let sheet = read(&format!("coupon,{column}\nHR-01,{cell}\nHR-02,\n"));
    assert_eq!(sheet.lines.len(), 1, "{column} {cell}: {:?}", sheet.faults);
    assert_eq!(sheet.faults.len(), 1, "{column} {cell}: {:?}", sheet.faults);
    assert_eq!(sheet.faults[0].line, 2);
    assert_eq!(sheet.faults[0].column, column);
    sheet.faults[0].clone()
}

#[test]
fn the_empty_sheet_s_own_example_is_understood() {
    let sheet = read(&example());
    assert!(sheet.faults.is_empty(), "{:?}", sheet.faults);
    let [line] = &sheet.lines[..] else {
        panic!("{:?}", sheet.lines)
    };
    assert_eq!((line.line, line.coupon.as_str()), (2, "HR-07"));
    assert_eq!(line.facts.date.as_deref(), Some("2026-03-14"));
    assert_eq!(line.declared.id.as_deref(), Some("HR-07"));
    assert_eq!(line.declared.joint, Some(JointType::Tee));
    assert_eq!(line.declared.thickness_butting_mm, Some(8.0));
    assert_eq!(line.declared.thickness_nonbutting_mm, Some(10.0));
    assert_eq!(
        (line.declared.leg_mm, line.declared.throat_mm),
        (Some(6.0), None)
    );
    assert_eq!(line.scale, ScaleSource::RuleMm);
    assert_eq!(line.limits, ["iso5817-c", "iso5817-c-break"]);
    assert_eq!(line.section, Photos::Named(vec!["HR-07.jpg".to_owned()]));
    let Photos::Named(names) = &line.fracture else {
        panic!("{:?}", line.fracture)
    };
    assert_eq!(names, &["HR-07-a.jpg", "HR-07-b.jpg"]);
}

#[test]
fn a_sheet_with_semicolons_may_have_decimal_commas() {
    let sheet = read(
        "Coupon;Leg;Scale Offset;Thickness;date;cracks\n\
         HR-01;6,5;-0,5;8,5/10;14.03.2026;Seen\n",
    );
    assert!(sheet.faults.is_empty(), "{:?}", sheet.faults);
    let line = &sheet.lines[0];
    assert_eq!(line.declared.leg_mm, Some(6.5));
    assert_eq!(line.declared.scale_offset_mm, Some(-0.5));
    assert_eq!(line.declared.thickness_butting_mm, Some(8.5));
    assert_eq!(line.declared.cracks, Some(Cracks::Seen));
    assert_eq!(line.facts.date.as_deref(), Some("2026-03-14"));
    // With commas between the cells a quoted pair is as after --thickness.
    let sheet = read("coupon,thickness\nHR-01,\"8,10\"\n");
    assert_eq!(sheet.lines[0].declared.thickness_nonbutting_mm, Some(10.0));
    // With semicolons it could as well be 8.1.
    let sheet = read("coupon;thickness\nHR-01;8,10\n");
    assert!(sheet.faults[0].message.contains("8/10"));
    assert!(sheet.lines.is_empty());
}

#[test]
fn each_bad_cell_is_told_with_what_to_write() {
    for (column, cell, hint) in [
        ("leg", "six", "6.5"),
        ("leg", "\"6,5\"", "6.5"),
        ("leg", "0", "above 0"),
        ("leg", "1e1", "6.5"),
        ("throat", "inf", "6.5"),
        ("date", "2026-02-30", "2026-03-14"),
        ("date", "03/14/2026", "2026-03-14"),
        ("joint", "butt", "tee, lap or corner"),
        ("thickness", "8x10", "8/10"),
        ("thickness", "8/-1", "8/10"),
        ("passes", "0", "1 to 200"),
        ("passes", "1.5", "1 to 200"),
        ("scale", "ruler", "rule-mm"),
        ("scale_offset", "low", "6.5"),
        ("dihedral", "180", "between 0 and 180"),
        ("material", "tin", "stainless"),
        ("discard", "-1", "0 or"),
        ("decision", "mild", "iso14253-1"),
        ("rule_class", "IV", "I, II or III"),
        ("card_line", "80", "90 to 110"),
        ("cracks", "maybe", "none or seen"),
        ("root_side", "front", "bottom"),
        ("bent_flat", "perhaps", "yes"),
    ] {
        let fault = fault(column, cell);
        assert!(fault.message.contains(hint), "{column} {cell}: {fault}");
        assert!(
            fault
                .to_string()
                .starts_with(&format!("line 2, column '{column}': "))
        );
    }
}

#[test]
fn a_line_s_faults_are_told_together_and_the_rest_goes_on() {
    let sheet = read("coupon,leg,passes\nHR-01,x,y\n,5,1\nHR-02,5,1\na/b,5,1\nHR-03,5,1,7\n");
    let lines: Vec<u64> = sheet.faults.iter().map(|fault| fault.line).collect();
    assert_eq!(lines, [2, 2, 3, 5, 6]);
    assert_eq!(sheet.lines.len(), 1);
    assert_eq!(sheet.lines[0].coupon, "HR-02");
}

#[test]
fn leg_and_throat_and_a_length_for_a_section_contradict() {
    let sheet = read("coupon,leg,throat\nHR-01,6,4\n");
    assert_eq!(sheet.faults[0].column, "throat");
    let sheet = read("coupon,scale,section\nHR-01,length:150,a.jpg\n");
    assert_eq!(sheet.faults[0].column, "scale");
    let sheet = read("coupon,scale,fracture\nHR-01,length:150,a.jpg\n");
    assert_eq!(sheet.lines[0].declared.length_mm, Some(150.0));
}

#[test]
fn unknown_columns_are_named_and_a_sheet_without_coupons_is_none() {
    let sheet = read("coupon,shoe size\nHR-01,43\n");
    assert_eq!((sheet.lines.len(), sheet.faults.len()), (1, 0));
    assert_eq!(sheet.unknown[0].column, "shoe size");
    assert!(sheet.unknown[0].message.contains("welder"));
    for (text, hint) in [
        ("", "--new"),
        ("\n;;\n", "--new"),
        ("name,leg\nHR-01,6\n", "'coupon'"),
        ("coupon,leg,leg\nHR-01,6,6\n", "twice"),
    ] {
        let message = Sheet::read(text.as_bytes()).unwrap_err();
        assert!(message.contains(hint), "{text}: {message}");
    }
}

#[test]
fn photographs_are_named_counted_or_found_by_their_card() {
    let sheet = read(
        "coupon,section,section,fracture\n\
         HR-01,a.jpg | b.jpg,c.jpg,\n\
         HR-02,\"a b.jpg; c.jpg\",,Card\n",
    );
    let named = |names: &[&str]| Photos::Named(names.iter().map(|n| (*n).to_owned()).collect());
    assert_eq!(sheet.lines[0].section, named(&["a.jpg", "b.jpg", "c.jpg"]));
    assert_eq!(sheet.lines[0].fracture, Photos::Empty);
    assert_eq!(sheet.lines[1].section, named(&["a b.jpg", "c.jpg"]));
    assert_eq!(sheet.lines[1].fracture, Photos::Card);
    assert_eq!(read("coupon\nHR-01\n").lines[0].section, Photos::NoColumn);
}

#[test]
fn lines_of_one_coupon_complete_each_other_and_may_not_contradict() {
    let sheet = read(
        "coupon,welder,process,section,fracture\n\
         HR-01,W-1,,a.jpg,\nHR-01,,135,,b.jpg\nHR-01,W-2,,,c.jpg\n",
    );
    assert_eq!(sheet.lines.len(), 2);
    for line in &sheet.lines {
        assert_eq!(line.facts.welder.as_deref(), Some("W-1"));
        assert_eq!(line.facts.process.as_deref(), Some("135"));
    }
    assert_eq!(
        (sheet.faults[0].line, sheet.faults[0].column.as_str()),
        (4, "welder")
    );
}
