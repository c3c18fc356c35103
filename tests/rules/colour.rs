//! Corner cases of the colours of wires.

use super::told;

fn shed(colours: [&str; 5], rest: &str) -> Vec<String> {
    let [tail, go, back, sense, bond] = colours;
    told(
        "colour.convention",
        &format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nload lamp 12 V 36 W case hull\nfuse F 5 A\n\
             chassis hull\nmeter M 100 A 50 mV counts B\nwire W1 from B.+ to F.line 1.5 mm2 0.1 m {tail}\n\
             wire W2 from F.load to lamp.+ 1.5 mm2 2 m {go}\nwire W3 from lamp.- to M.sys 1.5 mm2 2 m {back}\n\
             wire W4 from M.bat to B.- 1.5 mm2 1 m black\nwire W5 from F.load to M.sense 1.5 mm2 1 m {sense}\n\
             wire W6 from M.sys to hull 1.5 mm2 1 m {bond}\n{rest}\n"
        ),
    )
}

#[test]
fn each_role_has_its_colours() {
    assert_eq!(shed(["red", "red/white", "black", "grey", "green/yellow bond"], ""), Vec::<String>::new());
    assert_eq!(shed(["red", "red", "yellow", "blue/white", "bare bond"], ""), Vec::<String>::new());
    assert_eq!(
        shed(["black", "blue", "red", "red", "black bond"], ""),
        [
            "W1: W1 is a positive, and black is the colour of a negative",
            "W2: W2 is a positive, and blue",
            "W3: W3 is a negative, and red is the colour of a positive",
            "W6: W6 is a bond, and black is the colour of a negative",
        ]
    );
    assert_eq!(
        shed(["red", "red", "black/white", "red", "green/white bond"], "").len(),
        2,
        "a tracer changes what black and green say"
    );
}

#[test]
fn a_wire_without_a_colour_is_not_judged() {
    assert_eq!(shed(["", "", "", "", "bond"], ""), Vec::<String>::new());
}

#[test]
fn what_no_source_reaches_is_not_judged() {
    let rest = "load spare 12 V 5 W\nload other 12 V 5 W\nwire W7 from spare.+ to other.+ 1.5 mm2 1 m blue";
    assert_eq!(shed(["", "", "", "", "bond"], rest), Vec::<String>::new());
}

#[test]
fn a_link_of_a_string_is_the_positive_of_one_battery_and_the_negative_of_the_next() {
    let text = |colour: &str| {
        format!(
            "design d \"Invented\"\nbattery A lead-acid 12 V 100 Ah\nbattery B lead-acid 12 V 100 Ah\nload lamp 24 V 24 W\nfuse F 5 A\n\
             wire L from A.+ to B.- 16 mm2 0.3 m {colour}\nwire W1 from B.+ to F.line 2.5 mm2 0.1 m red\n\
             wire W2 from F.load to lamp.+ 2.5 mm2 1 m red\nwire W3 from lamp.- to A.- 2.5 mm2 1 m black\n"
        )
    };
    assert_eq!(told("colour.convention", &text("red")), Vec::<String>::new());
    assert_eq!(told("colour.convention", &text("black")), Vec::<String>::new());
    assert_eq!(
        told("colour.convention", &text("green")),
        ["L: L is a link of a string, and green is the colour of a bond"]
    );
}
