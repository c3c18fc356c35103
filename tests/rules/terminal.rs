//! Corner cases of what is put on terminals.

use super::{judge, told};

/// A lamp behind a fuse: `F` and `lamp` with the hardware given, and what else the design says.
fn shed(fuse: &str, lamp: &str, rest: &str) -> String {
    format!(
        "design shed \"Invented\"\nassume insulation 105 C\n\
         part base is fuse bolt-in volts 32 V breaks 2 kA {{\n  terminal line load {fuse}\n}}\n\
         part bulb is load 12 V 60 W {{\n  terminal + - {lamp}\n}}\n\
         battery B lead-acid 12 V 100 Ah fault 800 A\nload lamp = bulb\nfuse F = base 15 A\n{rest}\n"
    )
}

fn hole(fuse: &str, lamp: &str, ends: &str) -> Vec<String> {
    let rest = format!(
        "wire W1 from B.+ to F.line 4 mm2 0.1 m\nwire W2 from F.load to lamp.+ 4 mm2 2 m ends {ends}\n\
         wire W3 from lamp.- to B.- 4 mm2 2 m"
    );
    told("terminal.hole", &shed(fuse, lamp, &rest))
}

#[test]
fn a_ring_of_the_studs_own_thread_fits_whatever_the_size() {
    for thread in ["M3", "M4", "M5", "M6", "M8", "M10", "M12", "M14", "M16", "M20", "M24"] {
        let found = hole(&format!("stud {thread}"), "stud M5", &format!("ring-{thread} ring-M5"));
        assert_eq!(found, Vec::<String>::new(), "{thread}");
    }
}

#[test]
fn a_ring_of_the_neighbouring_thread_does_not_fit() {
    assert_eq!(
        hole("stud M8", "stud M5", "ring-M6 ring-M5"),
        ["W2: the ring-M6 on W2 has a hole of 6.4 mm, too narrow for the 8 mm stud of F.load"]
    );
    assert_eq!(
        hole("stud M8", "stud M5", "ring-M10 ring-M6"),
        [
            "W2: the ring-M10 on W2 has a hole of 10.5 mm, 2.5 mm wider than the 8 mm stud of F.load",
            "W2: the ring-M6 on W2 has a hole of 6.4 mm, 1.4 mm wider than the 5 mm stud of lamp.+",
        ]
    );
}

#[test]
fn the_clearance_of_a_ring_may_be_exactly_the_limit() {
    let with = |limit: &str| {
        let rest = format!(
            "limit ring.clearance {limit} because \"vibration\"\nwire W1 from B.+ to F.line 4 mm2 0.1 m ends bare ring-M8\n\
             wire W2 from F.load to lamp.+ 4 mm2 2 m\nwire W3 from lamp.- to B.- 4 mm2 2 m"
        );
        told("terminal.hole", &shed("stud M8", "stud M5", &rest)).len()
    };
    assert_eq!((with("0.4 mm"), with("0.39 mm")), (0, 1));
}

#[test]
fn every_other_end_fits_its_own_hardware_alone() {
    let fits =
        |hardware: &str, ending: &str| hole("stud M8", hardware, &format!("ring-M8 {ending}")).is_empty();
    let clamp = "screw 1 mm2 to 6 mm2";
    for (hardware, right, wrong) in [
        ("stud M6", &["ring-M6"][..], &["ferrule", "pin", "bare", "tab-6.3"][..]),
        (clamp, &["ferrule", "pin", "bare"], &["ring-M6", "tab-6.3"]),
        ("tab 6.3", &["tab-6.3"], &["tab-4.8", "ring-M6", "ferrule", "pin", "bare"]),
        ("pin", &["pin", "ferrule", "bare"], &["ring-M6", "tab-6.3"]),
    ] {
        for ending in right {
            assert!(fits(hardware, ending), "{ending} on {hardware}");
        }
        for ending in wrong {
            assert!(!fits(hardware, ending), "{ending} on {hardware}");
        }
    }
    assert_eq!(
        hole("stud M8", clamp, "ring-M8 ring-M6"),
        ["W2: W2 ends in a ring for M6 at lamp.+, which is a screw clamp for 1 mm2 to 6 mm2"]
    );
    assert_eq!(
        hole("stud M8", "tab 6.3", "ring-M8 tab-4.8"),
        ["W2: the 4.8 mm receptacle on W2 does not fit the 6.3 mm tab of lamp.+"]
    );
}

#[test]
fn posts_and_bars_have_studs_and_what_states_nothing_is_not_judged() {
    let on = |node: &str, ending: &str| {
        let rest = format!(
            "{node}\nwire W1 from B.+ to F.line 4 mm2 0.1 m ends ring-M99 ring-M8\nwire W2 from F.load to n 4 mm2 1 m ends ring-M8 {ending}\n\
             wire W4 from n to lamp.+ 4 mm2 2 m\nwire W3 from lamp.- to B.- 4 mm2 2 m"
        );
        told("terminal.hole", &shed("stud M8", "stud M5", &rest))
    };
    assert_eq!(on("post n M10", "ring-M10"), Vec::<String>::new());
    assert_eq!(on("bar n M6 x 4", "ring-M10").len(), 1);
    assert_eq!(on("bar n 100 A", "ring-M10").len(), 0);
    assert_eq!(on("chassis n", "ring-M10").len(), 0);
}

/// How many findings there are with lamps on a node, each line of `wires` being `FROM`, and the messages.
fn crowd(nodes: &str, wires: &[&str]) -> Vec<String> {
    use std::fmt::Write;
    let mut text = format!("design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah\n{nodes}\n");
    for (at, from) in wires.iter().enumerate() {
        let _ = writeln!(text, "load L{at} 12 V 5 W\nwire W{at} from {from} to L{at}.+ 2.5 mm2 1 m");
    }
    told("terminal.crowded", &text)
}

#[test]
fn a_post_holds_as_many_rings_as_the_book_says() {
    assert_eq!(crowd("post n M8", &["n"; 4]), Vec::<String>::new());
    assert_eq!(crowd("post n M8", &["n"; 5]), ["n: n has 5 rings on one stud, which holds 4 at most"]);
    assert_eq!(
        crowd("post n M8\nlimit rings.per-stud 5 because \"long stud\"", &["n"; 5]),
        Vec::<String>::new()
    );
    assert_eq!(crowd("post n 100 A", &["n"; 5]).len(), 1, "a post is one stud, of whatever thread");
    assert_eq!(crowd("chassis n", &["n"; 9]).len(), 0, "a frame can be drilled anywhere");
}

#[test]
fn the_rings_of_a_bar_are_counted_stud_by_stud() {
    assert_eq!(crowd("bar n M8 x 2", &["n.1", "n.1", "n.1", "n.1", "n.2", "n"]), Vec::<String>::new());
    assert_eq!(crowd("bar n M8 x 2", &["n.2"; 5]), ["n: n.2 has 5 rings on one stud, which holds 4 at most"]);
    assert_eq!(crowd("bar n M8 x 2", &["n"; 8]), Vec::<String>::new());
    assert_eq!(crowd("bar n M8 x 2", &["n"; 9]), ["n: n has 9 rings on 2 studs, which hold 8 at most"]);
    assert_eq!(
        crowd("bar n M8 x 2", &["n.1", "n.1", "n.1", "n", "n", "n", "n", "n", "n"]),
        ["n: 6 rings on n name no stud, and the others leave room for 5"]
    );
    assert_eq!(crowd("bar n 100 A", &["n"; 9]).len(), 0, "how many studs it has is not stated");
    assert_eq!(crowd("bar n 100 A", &["n.7"; 5]).len(), 1);
}

#[test]
fn conductors_in_parallel_and_feet_take_their_room() {
    let count = |rest: &str| {
        let text = format!(
            "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah\nload L 12 V 60 W\nload M 12 V 60 W\npost n M8\n\
             wire W1 from B.+ to n 6 mm2 0.1 m count 3\n{rest}\n"
        );
        told("terminal.crowded", &text).len()
    };
    assert_eq!(count("wire W2 from n to L.+ 6 mm2 1 m"), 0);
    assert_eq!(count("wire W2 from n to L.+ 6 mm2 1 m count 2"), 1);
    assert_eq!(count("fuse F 5 A on n\nwire W2 from F.load to L.+ 6 mm2 1 m"), 0);
    assert_eq!(count("fuse F 5 A on n\nfuse G 5 A on n\nwire W2 from F.load to L.+ 6 mm2 1 m"), 1);
    assert_eq!(count("bolt L.+ to n\nbolt M.+ to n"), 1);
}

#[test]
fn a_stud_of_a_component_is_a_stud() {
    let rest = "wire W1 from B.+ to F.line 4 mm2 0.1 m count 5\nwire W2 from F.load to lamp.+ 4 mm2 2 m\n\
                wire W3 from lamp.- to B.- 4 mm2 2 m";
    assert_eq!(
        told("terminal.crowded", &shed("stud M8", "tab 6.3", rest)),
        ["F: F.line has 5 rings on one stud, which holds 4 at most"]
    );
    assert_eq!(told("terminal.crowded", &shed("pin", "tab 6.3", rest)), Vec::<String>::new());
}

fn size(clamp: &str, wire: &str) -> Vec<String> {
    let rest = format!(
        "wire W1 from B.+ to F.line 4 mm2 0.1 m\nwire W2 from F.load to lamp.+ {wire}\nwire W3 from lamp.- to B.- 4 mm2 2 m"
    );
    told("terminal.size", &shed("stud M8", clamp, &rest))
}

#[test]
fn a_clamp_takes_its_range_and_its_ends() {
    let clamp = "screw 2.5 mm2 to 6 mm2";
    for wire in ["2.5 mm2 1 m", "4 mm2 1 m", "6 mm2 1 m", "12 AWG 1 m", "10 AWG 1 m", "10 SAE 1 m"] {
        assert_eq!(size(clamp, wire), Vec::<String>::new(), "{wire}");
    }
    assert_eq!(size(clamp, "1.5 mm2 1 m"), ["W2: W2 is 1.5 mm2, thinner than the 2.5 mm2 that lamp.+ takes"]);
    assert_eq!(size(clamp, "10 mm2 1 m"), ["W2: W2 is 10 mm2, thicker than the 6 mm2 that lamp.+ takes"]);
    assert_eq!(
        size(clamp, "8 AWG 1 m"),
        ["W2: W2 is 8 AWG (8.37 mm2), thicker than the 6 mm2 that lamp.+ takes"]
    );
    assert_eq!(size("screw 14 AWG to 8 AWG", "8 AWG 1 m"), Vec::<String>::new());
}

#[test]
fn several_conductors_in_a_clamp_go_in_together_or_not_at_all() {
    assert_eq!(size("screw 1.5 mm2 to 6 mm2", "3 mm2 1 m count 2"), Vec::<String>::new());
    assert_eq!(
        size("screw 1.5 mm2 to 6 mm2", "4 mm2 1 m count 2"),
        ["W2: lamp.+ holds 2 conductors of 8 mm2 together, and takes 6 mm2 at most"]
    );
    assert_eq!(size("screw 4 mm2 to 16 mm2", "2.5 mm2 1 m count 2").len(), 1, "each by itself is too thin");
    assert_eq!(
        size(
            "screw 1.5 mm2 to 6 mm2",
            "4 mm2 1 m\nload other 12 V 5 W\nwire W4 from lamp.+ to other.+ 2.5 mm2 1 m"
        ),
        ["W4: lamp.+ holds 2 conductors of 6.5 mm2 together, and takes 6 mm2 at most"]
    );
}

#[test]
fn a_clamp_suggests_a_size_that_it_takes_and_that_carries_what_flows() {
    let help = |clamp: &str, wire: &str| {
        let rest = format!(
            "wire W1 from B.+ to F.line 4 mm2 0.1 m\nwire W2 from F.load to lamp.+ {wire}\nwire W3 from lamp.- to B.- 4 mm2 2 m"
        );
        let found = judge("design.loom", &shed("stud M8", clamp, &rest)).findings;
        found.into_iter().find(|finding| finding.rule == "terminal.size").map(|finding| finding.help)
    };
    assert_eq!(
        help("screw 1.5 mm2 to 6 mm2", "10 mm2 1 m").as_deref(),
        Some(
            "use 6 mm2 for W2, which carries 60 A where 15 A can flow, or a part whose terminal takes 10 mm2"
        )
    );
    assert_eq!(
        help("screw 4 mm2 to 6 mm2", "2.5 mm2 1 m").as_deref(),
        Some(
            "use 4 mm2 for W2, which carries 45 A where 15 A can flow, or a part whose terminal takes 2.5 mm2"
        )
    );
    assert_eq!(
        help("screw 0.1 mm2 to 0.5 mm2", "4 mm2 1 m").as_deref(),
        Some(
            "use a part whose terminal takes 4 mm2: 0.5 mm2, the largest that goes into lamp.+, carries 10.7 A, and 15 A can flow"
        )
    );
}

/// Two loads returning by a post, with a stack.
fn stack(node: &str, rest: &str) -> Vec<String> {
    let text = format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nload big 12 V 600 W\nload small 12 V 24 W\n\
         fuse F1 60 A\nfuse F2 5 A\n{node}\nwire W1 from B.+ to F1.line 16 mm2 0.1 m\nwire W2 from B.+ to F2.line 2.5 mm2 0.1 m\n\
         wire W3 from F1.load to big.+ 16 mm2 1 m\nwire W4 from F2.load to small.+ 2.5 mm2 1 m\n\
         wire W5 from big.- to n 16 mm2 1 m\nwire W6 from small.- to n 2.5 mm2 1 m\nwire W7 from n to B.- 16 mm2 1 m\n{rest}\n"
    );
    told("terminal.order", &text)
}

#[test]
fn the_ring_with_the_most_current_lies_at_the_base() {
    assert_eq!(
        stack("post n M8", "stack n W7 W6 W5"),
        Vec::<String>::new(),
        "above the base any order will do"
    );
    assert_eq!(
        stack("post n M8", "stack n W6 W5 W7"),
        ["n: W6 with 5 A lies at the base of n, below W7 with 65 A"]
    );
    assert_eq!(
        stack("post n M8", "stack n W5 W6"),
        Vec::<String>::new(),
        "what it does not name is not judged"
    );
    assert_eq!(stack("post n M8", "stack n W6"), Vec::<String>::new());
    assert_eq!(stack("bar n M8 x 4", "stack n W6 W7").len(), 1);
}

#[test]
fn a_fused_tap_is_not_taken_for_the_feed_that_could_reach_a_fault_on_it() {
    let text = |order: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nsupply S 12 V 20 A\nload big 12 V 500 W\nload small 12 V 24 W\n\
             fuse F 60 A\nfuse G 5 A\npost p M8\nwire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to p 16 mm2 1 m\n\
             wire W3 from S.+ to p 16 mm2 1 m\nwire W4 from p to G.line 16 mm2 0.2 m\nwire W5 from G.load to small.+ 2.5 mm2 1 m\n\
             wire W6 from p to big.+ 16 mm2 1 m\nwire R1 from small.- to B.- 2.5 mm2 1 m\nwire R2 from big.- to B.- 16 mm2 1 m\n\
             wire R3 from S.- to B.- 16 mm2 1 m\nstack p {order}\n"
        )
    };
    // 80 A could arrive at a fault on W4, and no more than 5 A ever flow on it.
    assert_eq!(told("terminal.order", &text("W6 W2 W3 W4")), Vec::<String>::new());
    let found = told("terminal.order", &text("W4 W6 W2"));
    assert_eq!(found, ["p: W4 with 5 A lies at the base of p, below W6 with 80 A"]);
}

#[test]
fn a_device_on_the_stud_is_named_by_the_wire_that_it_feeds() {
    let rest =
        "fuse F3 5 A on n\nload third 12 V 12 W\nwire W8 from F3.load to third.- 2.5 mm2 1 m\nstack n W7 W8";
    assert_eq!(stack("post n M8", rest), Vec::<String>::new());
}

#[test]
fn a_stack_that_names_what_is_elsewhere() {
    assert_eq!(
        stack("post n M8", "stack n W7 W3"),
        ["n: the stack on n names W3, which does not end on that post"]
    );
    let bar = "bar n M8 x 4\nload third 12 V 6 W\nwire W8 from third.- to n.2 2.5 mm2 1 m";
    assert_eq!(
        stack(bar, "stack n.1 W7 W8"),
        ["n: the stack on n.1 names W8, which does not end on that stud"]
    );
    assert_eq!(stack(bar, "stack n.2 W7 W8"), Vec::<String>::new(), "W7 may stand on any stud");
}

#[test]
fn a_starters_cable_belongs_below_all_others() {
    let text = |order: &str| {
        format!(
            "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah\nload starter 12 V 1.8 kW motor\nload lamp 12 V 24 W\npost p M8\nfuse F 5 A\n\
             wire W1 from B.+ to p 50 mm2 1 m cranking\nwire W2 from p to starter.+ 50 mm2 1 m cranking\nwire W3 from p to F.line 2.5 mm2 0.1 m\n\
             wire W4 from F.load to lamp.+ 2.5 mm2 1 m\nwire R1 from starter.- to B.- 50 mm2 1 m cranking\nwire R2 from lamp.- to B.- 2.5 mm2 1 m\nstack p {order}\n"
        )
    };
    assert_eq!(told("terminal.order", &text("W1 W2 W3")), Vec::<String>::new());
    assert_eq!(
        told("terminal.order", &text("W3 W1 W2")),
        ["p: W3 with 5 A lies at the base of p, below W1 with a starter's current"]
    );
}

#[test]
fn what_is_not_stated_is_counted_and_not_judged() {
    let open = |text: &str| -> Vec<String> {
        let found = super::judge_without(&[], "design.loom", text).findings;
        let list = found.into_iter().find(|finding| finding.rule == "unknown.rating");
        let figures = list.map(|finding| finding.figures).unwrap_or_default();
        let told = figures.into_iter().map(|figure| format!("{} {}", figure.value, figure.meaning));
        told.filter(|line| line.contains("terminal.")).collect()
    };
    let wires = "wire W1 from B.+ to F.line 4 mm2 0.1 m\nwire W2 from F.load to lamp.+ 4 mm2 2 m ends ring-M8 tab-6.3\n\
                 wire W3 from lamp.- to n 4 mm2 2 m\nwire W4 from n to B.- 4 mm2 1 m";
    assert_eq!(
        open(&shed("stud M8", "tab 6.3", &format!("chassis n\n{wires}"))),
        [
            "`hardware` of B.+ and B.- are not stated: terminal.hole and terminal.size do not judge them",
            "`ends` of W1 and W3 are not stated: terminal.hole does not judge them",
        ]
    );
    assert_eq!(
        open(&shed(
            "screw 1 mm2 to 10 mm2",
            "screw 1 mm2 to 10 mm2",
            &format!("bar n 50 A\n{wires} count 5")
        ))[..2],
        [
            "`hardware` of B.+, B.- and n are not stated: terminal.crowded, terminal.hole and terminal.size do not judge them",
            "`studs` of n is not stated: terminal.crowded does not judge it",
        ]
    );
}
