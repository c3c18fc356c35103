//! Arrays: their voltage in the cold, and strings in parallel.

use super::{headline, subjects};

/// Two arrays and a charger that bears 100 V, wired as `wires` say.
fn arrays(voc: &str, wires: &str, more: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 200 Ah\n\
         charger C from solar in 60 A in-max 100 V out 12 V 30 A isolated\nfuse F 60 A\n\
         wire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to C.out+ 16 mm2 1 m\n\
         wire W3 from C.out- to B.- 16 mm2 1 m\nsolar P voc {voc} V isc 8 A series-fuse 15 A\n\
         solar Q voc {voc} V isc 8 A series-fuse 15 A\n{wires}\n{more}\n"
    )
}

const SERIES: &str = "wire S1 from P.+ to Q.- 6 mm2 1 m\nwire S2 from Q.+ to C.in+ 6 mm2 4 m\nwire S3 from P.- to C.in- 6 mm2 4 m";
const PARALLEL: &str = "wire S1 from P.+ to C.in+ 6 mm2 1 m\nwire S2 from Q.+ to C.in+ 6 mm2 4 m\n\
                        wire S3 from P.- to C.in- 6 mm2 4 m\nwire S4 from Q.- to C.in- 6 mm2 4 m";

/// At the book's -10 C the factor is 1.14: 100 V ÷ 1.14 = 87.7 V, in series 43.86 V each.
#[test]
fn voltages_add_up_in_series_alone() {
    assert!(subjects(&arrays("87.7", PARALLEL, ""), "solar.cold").is_empty());
    assert_eq!(subjects(&arrays("87.8", PARALLEL, ""), "solar.cold"), ["C"]);
    assert!(subjects(&arrays("43.8", SERIES, ""), "solar.cold").is_empty());
    let text = arrays("43.9", SERIES, "");
    assert_eq!(subjects(&text, "solar.cold"), ["C"]);
    // 2 × 43.9 V × 1.14.
    assert!(headline(&text, "solar.cold").contains("100.09 V"), "{}", headline(&text, "solar.cold"));
}

/// 1.25 at -40 C (80 V × 1.25 is the limit itself), 1 at 25 C.
#[test]
fn the_place_of_use_decides() {
    let at = |voc: &str, lowest: &str| {
        let more = format!("limit temperature.lowest {lowest} C because \"the place of use\"");
        subjects(&arrays(voc, PARALLEL, &more), "solar.cold")
    };
    assert!(at("80", "-40").is_empty());
    assert_eq!(at("80.1", "-40"), ["C"]);
    assert!(at("100", "25").is_empty());
}

fn strings(strings: u32, series_fuse: &str) -> Vec<String> {
    let text = format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 200 Ah\n\
         charger C from solar in 60 A in-max 100 V out 12 V 30 A isolated\nfuse F 60 A\n\
         wire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to C.out+ 16 mm2 1 m\n\
         wire W3 from C.out- to B.- 16 mm2 1 m\nsolar P voc 40 V isc 8 A strings {strings} {series_fuse}\n\
         wire S1 from P.+ to C.in+ 16 mm2 1 m\nwire S2 from P.- to C.in- 16 mm2 4 m\n"
    );
    subjects(&text, "solar.strings")
}

/// (strings − 1) × 8 A against the modules' series fuse.
#[test]
fn strings_inside_a_statement_feed_each_other() {
    assert!(strings(3, "series-fuse 16 A").is_empty());
    assert_eq!(strings(4, "series-fuse 16 A"), ["P"]);
    assert_eq!(strings(3, "series-fuse 15 A"), ["P"]);
    assert!(strings(4, "").is_empty(), "not stated, and listed as such");
}

/// Three arrays of 8 A: two push 16 A into the third, against 15 A; a fuse of its own bounds that.
#[test]
fn arrays_side_by_side_feed_each_other_unless_fused() {
    let text = |fuse: &str, fuse_of_third: Option<&str>, isc: &str| {
        let mut text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 200 Ah\n\
             charger C from solar in 60 A in-max 100 V out 12 V 30 A isolated\nfuse F 60 A\nbar plus 100 A\nbar minus 100 A\n\
             wire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to C.out+ 16 mm2 1 m\n\
             wire W3 from C.out- to B.- 16 mm2 1 m\nwire I1 from plus to C.in+ 16 mm2 1 m\n\
             wire I2 from minus to C.in- 16 mm2 1 m\n"
            .to_owned();
        for at in 1..=3 {
            text += &format!(
                "solar P{at} voc 40 V isc {isc} A series-fuse 15 A\nwire M{at} from P{at}.- to minus 6 mm2 4 m\n"
            );
            let own = if at == 3 { fuse_of_third } else { Some(fuse).filter(|fuse| !fuse.is_empty()) };
            match own {
                Some(rating) => {
                    text += &format!(
                        "fuse G{at} {rating} A on plus\nwire L{at} from P{at}.+ to G{at}.load 6 mm2 4 m\n"
                    );
                }
                None => text += &format!("wire L{at} from P{at}.+ to plus 6 mm2 4 m\n"),
            }
        }
        subjects(&text, "solar.strings")
    };
    assert_eq!(text("", None, "8"), ["P1", "P2", "P3"]);
    assert!(text("", None, "7.5").is_empty());
    assert!(text("15", Some("15"), "8").is_empty());
    assert_eq!(text("15", None, "8"), ["P3"]);
    assert_eq!(text("15", Some("20"), "8"), ["P3"], "16 A pass a fuse of 20 A");
}
