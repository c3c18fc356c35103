//! The faults that are planted in a fleet: one change to the text of a right design each.

/// One kind of fault.
#[derive(Debug)]
pub struct Fault {
    /// Its name.
    pub kind: &'static str,
    /// How it is done.
    change: Change,
    /// What has to be found, as often as it stands here: rules and subjects. `DESIGN` stands for the design's name, `CHARGER` for its first charger,
    /// `CHANGED` for the line that was changed.
    pub found: &'static [(&'static str, &'static str)],
    /// Pieces of text that a design has to have for this fault.
    needs: &'static [&'static str],
    /// Which claims about the meter fail besides: those in modes with this thing on; those in all modes, where it is
    /// empty.
    misreads: Option<&'static str>,
}

/// A change to a text. `GROUND` stands for the chassis.
#[derive(Debug)]
enum Change {
    /// More lines at the end.
    Append(&'static str),
    /// For the line that begins so, and so many after it, other lines.
    Lines(&'static str, usize, &'static str),
    /// In the first line that begins so and has one of the pieces, the piece beside it.
    Replace(&'static str, &'static [(&'static str, &'static str)]),
    /// Two names change places.
    Exchange(&'static str, &'static str),
}
use Change::{Append, Exchange, Lines, Replace};

impl Fault {
    /// Whether a design can have it.
    pub fn fits(&self, text: &str) -> bool {
        self.needs.iter().all(|piece| text.contains(piece))
    }

    /// Whether a claim of a text fails by it.
    pub fn fails_claim(&self, claim: &str, text: &str) -> bool {
        let Some(on) = self.misreads else { return false };
        let mode = claim.split(' ').next_back().unwrap_or_default();
        let block = text.lines().skip_while(|line| !line.starts_with(&format!("mode {mode} ")));
        on.is_empty() || block.take_while(|line| *line != "}").any(|line| line == format!("  {on} on"))
    }

    /// The text with the fault in it.
    pub fn plant(&self, text: &str) -> String {
        let text_of = |more: &str| {
            more.replace("GROUND", if text.contains("\nchassis hull\n") { "hull" } else { "frame" })
        };
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let place = |head: &str| lines.iter().position(|line| line.starts_with(head));
        match &self.change {
            Append(more) => lines.push(text_of(more)),
            Lines(head, n_more, put) => {
                if let Some(at) = place(head) {
                    lines.splice(at..=at + n_more, [text_of(put)]);
                }
            }
            Replace(head, choices) => {
                let found = lines.iter_mut().filter(|line| line.starts_with(head)).find_map(|line| {
                    let (from, to) = choices.iter().find(|(from, _)| line.contains(from))?;
                    Some((line, from, to))
                });
                if let Some((line, from, to)) = found {
                    *line = line.replacen(from, to, 1);
                }
            }
            Exchange(one, other) => {
                for line in &mut lines {
                    *line = line.replace(one, "\0").replace(other, one).replace('\0', other);
                }
            }
        }
        let mut changed = lines.join("\n");
        changed.push('\n');
        assert!(changed != text, "{} changes nothing", self.kind);
        changed
    }
}

/// All kinds; in a fleet they take turns.
pub const FAULTS: &[Fault] = &[
    Fault {
        kind: "a fuse left out",
        change: Lines("fuse FG ", 2, "wire K2 from house.+ to guard.+ 4 mm2 2 m red ends ring-M8 ferrule"),
        found: &[("protection.missing", "K2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a fuse too large for its wires",
        change: Replace("fuse FC ", &[(" 10 A ", " 100 A holder 100 A ")]),
        found: &[("protection.oversize", "C1"), ("return.undersize", "C2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a fuse too large in a kit",
        change: Replace("fit pump as tap ", &[("rating = 8 A", "rating = 60 A")]),
        found: &[
            ("connection.overrated", "tap/S"),
            ("protection.oversize", "tap/go"),
            ("protection.oversize", "tap/on-to"),
            ("protection.slow", "tap/on-to"),
            ("protection.type", "tap/F"),
            ("return.undersize", "tap/back"),
        ],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a wire too thin for its fuse",
        change: Lines(
            "wire H4 ",
            0,
            "wire H4 from master.b to plus-bar 16 mm2 0.3 m red ends ring-M10 ring-M8",
        ),
        found: &[("protection.oversize", "H4")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a return too thin for what comes back",
        change: Lines(
            "wire H6 ",
            0,
            "wire H6 from tally.sys to minus-bar 16 mm2 0.3 m black ends ring-M10 ring-M8",
        ),
        found: &[("return.undersize", "H6")],
        needs: &["inverter wave"],
        misreads: None,
    },
    Fault {
        kind: "a wire under the least size",
        change: Replace("wire E1 ", &[(" 4 mm2 ", " 0.5 mm2 ")]),
        // A clamp too large for it at either end.
        found: &[
            ("conductor.small", "E1"),
            ("protection.slow", "E1"),
            ("terminal.size", "E1"),
            ("terminal.size", "E1"),
        ],
        needs: &["insulation 105 C"],
        misreads: None,
    },
    Fault {
        kind: "a negative on the battery side of the meter",
        change: Replace("wire C2 ", &[("minus-bar", "tally.bat")]),
        found: &[("meter.uncounted", "cooler"), ("terminal.hole", "C2")],
        needs: &[],
        misreads: Some("cooler"),
    },
    Fault {
        kind: "a second way past the meter",
        change: Append("wire X1 from tally.bat to minus-bar 70 mm2 0.3 m black ends ring-M10 ring-M8"),
        found: &[("meter.bypassed", "tally")],
        needs: &[],
        misreads: Some(""),
    },
    Fault {
        kind: "a second way home by the chassis",
        change: Append("wire X1 from cooler.- to GROUND 2.5 mm2 2 m black ends ferrule ring-M8"),
        found: &[("bond.extra", "X1"), ("return.bypass", "X1"), ("return.single-failure", "C2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a wire of the wrong colour",
        change: Replace("wire C2 ", &[(" black ", " red ")]),
        found: &[("colour.convention", "C2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a bar too small for what it passes",
        change: Replace("bar plus-bar ", &[(" = rail ", " = rail 120 A ")]),
        found: &[("connection.overrated", "plus-bar")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a first device too far away",
        change: Replace("wire H1 ", &[(" 0.1", " 1.1")]),
        found: &[("protection.far", "H1")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a device that cannot break the fault",
        change: Replace("fuse FC ", &[("lead-fuse", "blade-fuse")]),
        found: &[("protection.breaking-capacity", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a device for too low a voltage",
        change: Replace("fuse FC ", &[(" 10 A ", " 10 A volts 11 V ")]),
        found: &[("protection.voltage", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a meter turned round",
        change: Exchange("tally.bat", "tally.sys"),
        found: &[("meter.reversed", "tally")],
        needs: &[],
        misreads: Some(""),
    },
    Fault {
        kind: "a load ahead of the main switch",
        change: Replace("fuse FC ", &[("on plus-bar", "on charge-bar")]),
        found: &[("isolation.live", "master")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a load behind the main switch that must stay fed",
        change: Replace("wire K1 ", &[("house.+", "plus-bar")]),
        found: &[
            ("isolation.lost", "master"),
            ("mode.unsolved", "guard"),
            ("protection.oversize", "K1"),
            ("protection.slow", "K1"),
        ],
        needs: &[],
        misreads: Some("guard"),
    },
    Fault {
        kind: "a name misspelt",
        change: Replace("wire C1 ", &[("cooler", "cooller")]),
        found: &[("language.name", "C1")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a unit misspelt",
        change: Replace("fuse FC ", &[("10 A", "10 a")]),
        found: &[("language.unit", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a word misspelt",
        change: Replace("wire C1 ", &[("red", "rde")]),
        found: &[("language.word", "C1")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a rating forgotten",
        change: Replace("fuse FC ", &[(" 10 A", "")]),
        found: &[("language.missing", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a library that is not there",
        change: Replace("use \"../../lib/feeds", &[("feeds", "feed")]),
        found: &[("language.use", "CHANGED")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "poles exchanged",
        change: Exchange("cooler.+", "cooler.-"),
        found: &[("connection.polarity", "C1"), ("connection.polarity", "C2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a way back forgotten",
        change: Lines("wire C2 ", 0, ""),
        found: &[("connection.loose", "cooler"), ("return.missing", "cooler")],
        needs: &[],
        misreads: Some("cooler"),
    },
    Fault {
        kind: "a load of another voltage",
        change: Replace("load cooler ", &[(" 12 V ", " 48 V "), (" 24 V ", " 48 V ")]),
        found: &[("connection.voltage", "cooler")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a run too long for its size",
        change: Lines("wire E1 ", 0, "wire E1 from FL.load to porch.+ 1.5 mm2 60 m red ends ferrule ferrule"),
        found: &[("conductor.drop", "porch")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a ring too small for its stud",
        change: Replace("wire C2 ", &[("ring-M8", "ring-M5")]),
        found: &[("terminal.hole", "C2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a figure not stated",
        change: Replace("load cooler ", &[("= appliance-12 ", "")]),
        found: &[("unknown.rating", "DESIGN")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a meter fed behind the switch",
        change: Replace("fit meter-leads ", &[("house.+", "plus-bar")]),
        found: &[
            ("meter.unpowered", "tally"),
            ("protection.oversize", "sense/tail"),
            ("protection.slow", "sense/tail"),
        ],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a charger set too high",
        change: Replace("set ", &[("absorption 14", "absorption 17"), ("absorption 28", "absorption 34")]),
        found: &[("charging.voltage", "CHARGER")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a claim that does not hold",
        change: Replace("expect tally reads -2 ", &[("-2 A", "-3 A")]),
        found: &[],
        needs: &[],
        misreads: Some("guard"),
    },
    Fault {
        kind: "a waiver that has run out",
        change: Replace("waive ", &[("2026-12-31", "2026-03-31")]),
        found: &[("colour.convention", "E2"), ("waiver.expired", "E2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a waiver of nothing",
        change: Replace("wire E2 ", &[("orange", "black")]),
        found: &[("waiver.unused", "E2")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a fuse in the negative",
        change: Lines(
            "wire C2 ",
            0,
            "fuse XF = lead-fuse 10 A\nwire C2 from cooler.- to XF.line 2.5 mm2 2 m black ends ferrule ferrule\nwire C3 from XF.load to minus-bar 2.5 mm2 0.5 m black ends ferrule ring-M8",
        ),
        found: &[("protection.in-return", "XF")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a second bond",
        change: Append("wire X1 from panel-1/N to GROUND 35 mm2 1 m green/yellow bond ends ring-M8 ring-M8"),
        found: &[("bond.extra", "X1"), ("return.bypass", "X1"), ("return.single-failure", "panel-1/back")],
        needs: &["fit panel as panel-1 "],
        misreads: None,
    },
    Fault {
        kind: "a bond too thin",
        change: Lines(
            "wire B1 ",
            0,
            "wire B1 from minus-bar to GROUND 1 mm2 0.8 m green/yellow bond ends ring-M8 ring-M8",
        ),
        found: &[("bond.undersize", "B1")],
        needs: &["inverter wave"],
        misreads: None,
    },
    Fault {
        kind: "a plug with live pins",
        change: Lines(
            "wire C1 ",
            0,
            "plug XP = plug-16 8 A\nwire C1 from FC.load to XP.b 2.5 mm2 2 m red ends ferrule ferrule\nwire C3 from XP.a to cooler.+ 2.5 mm2 0.5 m red ends ferrule ferrule",
        ),
        found: &[("connection.overrated", "XP"), ("plug.exposed", "XP")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "two conductors side by side that are not alike",
        change: Append("wire X1 from charge-bar to master.a 10 mm2 0.3 m red ends ring-M8 ring-M10"),
        found: &[("conductor.unequal", "X1")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "the poles joined",
        change: Append("wire X1 from plus-bar to minus-bar 35 mm2 0.5 m red ends ring-M8 ring-M8"),
        found: &[("connection.short", "X1")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a load that takes more than its fuse bears",
        change: Append("mode hot \"in summer\" {\n  cooler 9.5 A\n}"),
        found: &[("protection.undersize", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "an alternator that a breaker can cut off",
        change: Lines(
            "fuse FA ",
            0,
            "part own-breaker is breaker volts 48 V breaks 5 kA at 48 V i2t 200 kA2s {\n  terminal line load stud M8 6 Nm\n}\nbreaker FA = own-breaker 150 A",
        ),
        found: &[("source.orphaned", "FA")],
        needs: &["engine-bay"],
        misreads: None,
    },
    Fault {
        kind: "batteries of two kinds",
        change: Replace(
            "battery house-b ",
            &[
                ("= lithium-12 ", "= agm-12-large "),
                ("= agm-12-large ", "= lithium-12 "),
                ("= lithium-24 ", "= agm-24 "),
                ("= lead-acid-24 ", "= gel-24 "),
            ],
        ),
        found: &[("battery.mixed", "house-b"), ("protection.missing", "L1")],
        needs: &["battery house-b", "book caravan-us"],
        misreads: None,
    },
    Fault {
        kind: "a breaker that closes by itself",
        change: Lines("fuse FC ", 0, "breaker FC = panel-pole-10 10 A auto-reset on plus-bar"),
        found: &[("protection.type", "FC")],
        needs: &[],
        misreads: None,
    },
    Fault {
        kind: "a charger that is not let free",
        change: Replace(
            "set ",
            &[("engine-off 12.6", "engine-off 14.4"), ("engine-off 25.2", "engine-off 28.6")],
        ),
        found: &[("charging.lockout", "CHANGED")],
        needs: &["engine-off"],
        misreads: None,
    },
];
