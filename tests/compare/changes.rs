//! Each sort of change alone, and several together: a line of a design replaced, and the sentences that are told of it.

use super::told;

/// A design with something of everything. All invented.
const BOAT: &str = r#"design boat "A boat"
book common-practice
assume ambient 30 C
assume insulation 105 C
limit distance.battery-bare 150 mm because "the client's word"
zone engine-bay ambient 60 C
zone cabin ambient 35 C
battery crank lead-acid 12 V 80 Ah fault 1.5 kA full 14.8 V
battery house lifepo4 12 V 200 Ah fault 5 kA full 14.4 V cold-cutoff
alternator drive 12 V 90 A returns frame
supply shore 12 V 20 A fused 25 A
solar roof voc 24 V isc 10 A vmp 20 V imp 9 A strings 2
charger booster in 12 V 30 A out 12 V 25 A isolated efficiency 90 %
inverter mains 12 V 800 W surge 1600 W
load lights 12 V 60 W critical
load pump 12 V 5 A motor stall 20 A
fuse F1 60 A bolt-in volts 32 V breaks 2 kA
fuse F4 60 A strip volts 32 V breaks 2 kA at 32 V "lights"
breaker Q1 30 A volts 48 V breaks 3 kA polarised
switch S1 100 A brief 300 A main
plug P1 16 A
cutoff guard 40 A
post peg M8 200 A
bar plus-bar M8 x 6 250 A
bar sub-bar M8 x 4 250 A
bar minus-bar M8 x 6 250 A
chassis frame
meter tally 300 A 50 mV counts house
hub display 5 W
wire W1 from crank.+ to F1.line 10 mm2 0.15 m red zone engine-bay
wire W2 from F1.load to booster.in+ 10 mm2 4.2 m red sheathed
wire W3 from house.+ to S1.a 35 mm2 0.3 m red
wire W4 from house.- to tally.bat 35 mm2 0.3 m black ends ring-M8 ring-M10
wire W5 from tally.sys to minus-bar 35 mm2 0.3 m black
wire W13 from F4.load to sub-bar 4 mm2 5 m red/yellow insulation 105 C
wire W14 from lights.- to minus-bar 6 AWG 5 m black
data D1 from tally.data to display.data 2 m
bolt F4.line to plus-bar
bundle loom W2 W13
mode driving "engine running" {
  crank 14.2 V
  booster on
  lights off
}
mode parked {
  house 13.1 V
}
set booster absorption 14.2 V
stack minus-bar W5 W14
note house "under the bunk"
expect tally reads 25 A within 1 A in driving
expect house.+ above 12 V in driving
reading tally 24.5 A in driving on 2026-05-01 by "a mate"
waive return.missing on lights because "it is a sketch" until 2027-03-31
"#;

/// What is told when one line is replaced; the lines may be several.
fn replaced(old: &str, new: &str) -> Vec<String> {
    assert_eq!(BOAT.matches(old).count(), 1, "`{old}` stands once in the design");
    told(BOAT, &BOAT.replace(old, new))
}

/// Text, what replaces it, and what is told.
const CASES: &[(&str, &str, &[&str])] = &[
    // Ratings.
    ("fuse F4 60 A", "fuse F4 80 A", &["~ F4 goes from 60 A to 80 A"]),
    ("60 A strip", "60 A class-t", &["~ F4 is now class-t, not strip"]),
    (" \"lights\"", " \"cabin\"", &["~ F4: label goes from \"lights\" to \"cabin\""]),
    (" \"lights\"", "", &["~ F4: label is no longer stated (it was \"lights\")"]),
    ("breaks 2 kA at 32 V", "breaks 2 kA", &["~ F4: breaking capacity goes from 2 kA at 32 V to 2 kA"]),
    ("bolt-in volts 32 V", "bolt-in volts 58 V", &["~ F1: rated voltage goes from 32 V to 58 V"]),
    ("bolt-in volts", "bolt-in holder 80 A volts", &["~ F1: rating of the holder is now stated, 80 A"]),
    (
        "fuse F1 60 A bolt-in",
        "breaker F1 60 A",
        &["~ F1 is now a breaker, not a fuse", "~ F1 is no longer bolt-in"],
    ),
    (" polarised", "", &["~ Q1 is no longer polarised"]),
    (
        "100 A brief 300 A main",
        "100 A brief 400 A",
        &["~ S1: short-time rating goes from 300 A to 400 A", "~ S1 is no longer the isolator"],
    ),
    ("plug P1 16 A", "plug P1", &["~ P1: rating is no longer stated (it was 16 A)"]),
    ("cutoff guard 40 A", "cutoff guard 60 A", &["~ guard goes from 40 A to 60 A"]),
    ("post peg M8", "post peg M10", &["~ peg: stud goes from M8 to M10"]),
    ("bar sub-bar M8 x 4", "bar sub-bar M8 x 6", &["~ sub-bar: number of studs goes from 4 to 6"]),
    (
        "lifepo4 12 V 200 Ah",
        "agm 12 V 180 Ah",
        &["~ house goes from 200 Ah to 180 Ah", "~ house is now agm, not lifepo4"],
    ),
    ("fault 5 kA", "fault 5.0001 kA", &["~ house: fault current goes from 5 kA to 5.0001 kA"]),
    (" cold-cutoff", "", &["~ house is no longer marked `cold-cutoff`"]),
    ("full 14.8 V", "full 14.75 V", &["~ crank: highest charging voltage goes from 14.8 V to 14.75 V"]),
    (
        "12 V 90 A returns frame",
        "12 V 110 A",
        &["~ drive goes from 90 A to 110 A", "~ drive no longer returns through frame"],
    ),
    (
        "fused 25 A",
        "fault 1 kA",
        &[
            "~ shore: fault current is now stated, 1 kA",
            "~ shore: inner fuse is no longer stated (it was 25 A)",
        ],
    ),
    ("imp 9 A strings 2", "imp 9 A strings 3", &["~ roof: strings in parallel goes from 2 to 3"]),
    (
        "out 12 V 25 A isolated",
        "out 24 V 12 A common",
        &[
            "~ booster: output voltage goes from 12 V to 24 V",
            "~ booster: output current goes from 25 A to 12 A",
            "~ booster is now common, not isolated",
        ],
    ),
    ("efficiency 90 %", "efficiency 92.5 %", &["~ booster: efficiency goes from 90 % to 92.5 %"]),
    ("800 W surge 1600 W", "1000 W surge 1600 W", &["~ mains goes from 800 W to 1000 W"]),
    (
        "12 V 60 W critical",
        "12 V 40 W",
        &["~ lights goes from 60 W to 40 W", "~ lights is no longer critical"],
    ),
    ("12 V 5 A motor", "12 V 60 W motor", &["~ pump goes from 5 A to 60 W"]),
    ("load pump 12 V", "load pump 12 V case frame", &["~ pump now has its case on frame"]),
    ("load pump 12 V", "load pump 12 V zone cabin", &["~ pump now sits in zone cabin"]),
    (
        "50 mV counts house",
        "75 mV counts house crank",
        &["~ tally goes from 50 mV to 75 mV", "~ tally now counts crank"],
    ),
    ("hub display 5 W", "hub display 6 W", &["~ display goes from 5 W to 6 W"]),
    // Wires.
    ("4 mm2 5 m red/yellow", "6 mm2 5 m red/yellow", &["~ W13 goes from 4 mm2 to 6 mm2"]),
    ("4 mm2 5 m red/yellow", "4 mm2 6.5 m red/yellow", &["~ W13 goes from 5 m to 6.5 m"]),
    ("5 m red/yellow", "5 m red", &["~ W13 is now red, not red/yellow"]),
    (" insulation 105 C\nwire", " insulation 90 C\nwire", &["~ W13: insulation goes from 105 C to 90 C"]),
    ("6 AWG 5 m", "4 AWG 5 m", &["~ W14 goes from 6 AWG to 4 AWG"]),
    (
        " sheathed",
        " count 2 bond",
        &[
            "~ W2: conductors in parallel is now stated, 2",
            "~ W2 is now a bond",
            "~ W2 is no longer sheathed",
        ],
    ),
    (
        "red zone engine-bay",
        "red zone cabin",
        &["~ W1 now runs through zone cabin", "~ W1 no longer runs through zone engine-bay"],
    ),
    ("ring-M8 ring-M10", "ring-M8 ring-M8", &["~ W4: ends goes from ring-M8 ring-M10 to ring-M8 ring-M8"]),
    (
        "from F4.load to sub-bar 4",
        "from F4.load to plus-bar 4",
        &["~ W13 now ends at plus-bar, not at sub-bar"],
    ),
    (
        "from F4.load to sub-bar 4",
        "from F4.load to sub-bar.2 4",
        &["~ W13 now ends at sub-bar.2, not at sub-bar"],
    ),
    ("from F1.load to", "from F4.load to", &["~ W2 now starts at F4.load, not at F1.load"]),
    (
        "from F4.load to sub-bar 4",
        "from sub-bar to F4.load 4",
        &["~ W13 is turned round: it now runs from sub-bar to F4.load"],
    ),
    (
        "from house.- to tally.bat 35 mm2 0.3 m black ends ring-M8 ring-M10",
        "from tally.bat to house.- 35 mm2 0.3 m black ends ring-M10 ring-M8",
        &["~ W4 is turned round: it now runs from tally.bat to house.-"],
    ),
    (
        "from lights.- to minus-bar 6",
        "from pump.- to frame 6",
        &["~ W14 now runs from pump.- to frame, not from lights.- to minus-bar"],
    ),
    (
        "display.data 2 m",
        "display.data 3 m isolated",
        &["~ data lead D1 goes from 2 m to 3 m", "~ data lead D1 is now isolated"],
    ),
    // Bolts.
    (
        "bolt F4.line to plus-bar",
        "bolt F4.line to sub-bar",
        &["~ F4.line is now bolted to sub-bar, not to plus-bar"],
    ),
    ("bolt F4.line to plus-bar", "bolt plus-bar to F4.line", &[]),
    ("bolt F4.line to plus-bar\n", "", &["- F4.line is no longer bolted to plus-bar"]),
    ("\nbundle", "\nbolt F1.line to peg\nbundle", &["+ F1.line is now bolted to peg"]),
    // Zones, bundles, modes.
    ("engine-bay ambient 60 C", "engine-bay ambient 70 C", &["~ zone engine-bay goes from 60 C to 70 C"]),
    (
        "bundle loom W2 W13",
        "bundle loom W13 W14",
        &["~ bundle loom now holds W14", "~ bundle loom no longer holds W2"],
    ),
    ("bundle loom W2 W13", "bundle loom W13 W2", &[]),
    ("  booster on\n", "  booster off\n", &["~ mode driving now sets booster to off, not to on"]),
    ("  booster on\n", "", &["~ mode driving no longer sets booster (it was on)"]),
    ("13.1 V\n", "13.1 V\n  lights on\n", &["~ mode parked now sets lights to on"]),
    (
        "\"engine running\"",
        "\"engine on\"",
        &["~ mode driving: title goes from \"engine running\" to \"engine on\""],
    ),
    // Statements without a name.
    (
        "absorption 14.2 V",
        "absorption 14.25 V",
        &["~ the setting booster absorption goes from 14.2 V to 14.25 V"],
    ),
    ("set booster absorption 14.2 V\n", "", &["- the setting booster absorption is gone: 14.2 V"]),
    (
        "stack minus-bar W5 W14",
        "stack minus-bar W14 W5",
        &["~ the stack on minus-bar goes from W5, W14 to W14, W5"],
    ),
    ("\"under the bunk\"", "\"aft\"", &["~ the note beside house goes from \"under the bunk\" to \"aft\""]),
    (
        "25 A within 1 A",
        "26 A within 2 A",
        &[
            "~ the reading expected of tally in driving goes from 25 A to 26 A",
            "~ the reading expected of tally in driving: tolerance goes from 1 A to 2 A",
        ],
    ),
    (
        "above 12 V in driving",
        "above 12 V in parked",
        &[
            "+ the lowest voltage expected of house.+ in parked is new: 12 V",
            "- the lowest voltage expected of house.+ in driving is gone: 12 V",
        ],
    ),
    (
        "tally 24.5 A",
        "tally 24.6 A",
        &["~ the reading of tally in driving on 2026-05-01 goes from 24.5 A to 24.6 A"],
    ),
    (
        "until 2027-03-31",
        "until 2027-04-30",
        &["~ the waiver of return.missing on lights: last day goes from 2027-03-31 to 2027-04-30"],
    ),
    (
        "waive return.missing on lights",
        "waive return.missing on pump",
        &[
            "+ the waiver of return.missing on pump is new: last day 2027-03-31, reason \"it is a sketch\"",
            "- the waiver of return.missing on lights is gone: last day 2027-03-31, reason \"it is a sketch\"",
        ],
    ),
    // The design itself.
    ("assume ambient 30 C", "assume ambient 40 C", &["~ the assumed ambient goes from 30 C to 40 C"]),
    ("assume ambient 30 C\n", "", &["- the assumed ambient is no longer stated (it was 30 C)"]),
    (
        "assume ambient 30 C\n",
        "assume ambient 30 C\nassume strand class-2\n",
        &["+ the assumed strand is now stated, class-2"],
    ),
    (
        "battery-bare 150 mm",
        "battery-bare 0.12 m",
        &["~ the limit distance.battery-bare goes from 150 mm to 120 mm"],
    ),
    (
        "book common-practice",
        "book small-craft-us",
        &["~ the book goes from common-practice to small-craft-us"],
    ),
    ("book common-practice\n", "", &["- the book is no longer stated (it was common-practice)"]),
    (
        "design boat \"A boat\"",
        "design ship \"A ship\"",
        &["~ the design's name goes from boat to ship", "~ the title goes from \"A boat\" to \"A ship\""],
    ),
    // Elements that come and go.
    (
        "\nbundle",
        "\nfuse F9 10 A blade volts 32 V\nbundle",
        &["+ F9 is new: a fuse, 10 A, blade, rated voltage 32 V"],
    ),
    (
        "\nbundle",
        "\nwire W20 from sub-bar to pump.+ 2.5 mm2 3 m red\nbundle",
        &["+ W20 is new: from sub-bar to pump.+, 2.5 mm2, 3 m, red"],
    ),
    ("zone cabin ambient 35 C\n", "", &["- zone cabin is gone: 35 C"]),
    ("mode parked {\n  house 13.1 V\n}\n", "", &["- mode parked is gone: house 13.1 V"]),
    ("\nbundle", "\nchassis keel\nbundle", &["+ keel is new: a chassis"]),
    // The same in other words.
    ("10 mm2 0.15 m", "10mm² 150 mm", &[]),
    ("fault 1.5 kA", "fault 1500 A", &[]),
    ("50 mV counts", "0.05 V counts", &[]),
];

#[test]
fn each_change_alone() {
    let mut wrong = String::new();
    for (old, new, expected) in CASES {
        let told = replaced(old, new);
        if told != *expected {
            wrong += &format!("`{old}` became `{new}`:\n  told     {told:#?}\n  expected {expected:#?}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn several_changes_together() {
    let new = BOAT
        .replace("fuse F4 60 A", "fuse F4 80 A")
        .replace("from F4.load to sub-bar 4", "from F4.load to plus-bar 6")
        .replace("bar sub-bar M8 x 4 250 A\n", "")
        .replace("wire W14 ", "wire W15 ")
        .replace("W5 W14", "W5 W15")
        .replace("\nbundle", "\nload horn 12 V 4 A\nbundle");
    assert_eq!(
        told(BOAT, &new),
        [
            "+ horn is new: a load, 12 V, 4 A",
            "- sub-bar is gone: a bar, stud M8, number of studs 4, 250 A",
            "~ F4 goes from 60 A to 80 A",
            "~ W13 now ends at plus-bar, not at sub-bar",
            "~ W13 goes from 4 mm2 to 6 mm2",
            "= W14 is now called W15",
        ]
    );
}

/// A part gives ratings to what is made of it; the part of a library likewise.
#[test]
fn a_part_that_changes() {
    let old = "design d \"D\"\npart small is fuse 10 A blade volts 32 V { \n  terminal line load stud M5 2 Nm\n}\n\
               fuse A = small\nfuse B = small 15 A\n";
    assert_eq!(told(old, &old.replace("is fuse 10 A", "is fuse 12 A")), ["~ A goes from 10 A to 12 A"]);
    assert_eq!(
        told(old, &old.replace("M5 2 Nm", "M5 3 Nm").replace("B = small 15 A", "B = small 20 A")),
        [
            "~ A: terminal line goes from stud M5 2 Nm to stud M5 3 Nm",
            "~ A: terminal load goes from stud M5 2 Nm to stud M5 3 Nm",
            "~ B goes from 15 A to 20 A",
            "~ B: terminal line goes from stud M5 2 Nm to stud M5 3 Nm",
            "~ B: terminal load goes from stud M5 2 Nm to stud M5 3 Nm",
        ]
    );
    let renamed = old.replace("small", "tiny");
    assert_eq!(
        told(old, &renamed),
        ["~ A: part goes from small to tiny", "~ B: part goes from small to tiny"]
    );
}

/// Notes beside one name are told apart by what they say.
#[test]
fn several_notes_beside_one_name() {
    let old = "design d \"D\"\nchassis frame\nnote frame \"one\"\nnote frame \"two\"\n";
    let new = "design d \"D\"\nchassis frame\nnote frame \"two\"\nnote frame \"three\"\n";
    assert_eq!(told(old, new), ["~ the note beside frame goes from \"one\" to \"three\""]);
}

/// Nothing at all, and something.
#[test]
fn a_design_that_begins() {
    let new = "design d \"D\"\nchassis frame\npost P M8\nbolt P to frame\n";
    assert_eq!(
        told("design d \"D\"\n", new),
        ["+ frame is new: a chassis", "+ P is new: a post, stud M8", "+ P is now bolted to frame"]
    );
}
