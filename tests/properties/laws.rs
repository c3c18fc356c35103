//! What must not matter does not: the order of statements, names, which end of a wire comes first, a joint in a wire.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::dice::{Dice, dice};
use super::random::{Draft, Manner, plain, text};
use super::{config, judge, samples};
use ohmward::check::{Flow, Judgement};
use ohmward::findings::Value;

/// Rules whose subject is one, by the order of statements, of several that are at fault together.
const ONE_OF_SEVERAL: [&str; 6] = [
    "return.bypass",
    "bond.extra",
    "connection.short",
    "charging.current",
    "conductor.unequal",
    "battery.takeoff",
];
/// Rules that measure several against the first of them, so that the order decides how many are named.
const AGAINST_THE_FIRST: [&str; 2] = ["return.missing", "battery.mixed"];

/// How often each rule found each subject; of the rules above, how often in all, or whether at all.
fn verdicts(judgement: &Judgement, name: impl Fn(&str) -> String) -> BTreeMap<(String, String), usize> {
    let mut all = BTreeMap::new();
    for finding in &judgement.findings {
        // A statement without a name is told by its line, which another order changes.
        let one = ONE_OF_SEVERAL.contains(&&*finding.rule) || finding.subject.starts_with("line:");
        let subject = if one { String::new() } else { name(&finding.subject) };
        if AGAINST_THE_FIRST.contains(&&*finding.rule) {
            all.insert((finding.rule.to_string(), String::new()), 1);
        } else {
            *all.entry((finding.rule.to_string(), subject)).or_default() += 1;
        }
    }
    all
}

fn as_is(name: &str) -> String {
    name.to_owned()
}

/// The order decides which wire of a short is set aside, and so what the rest is.
fn is_ordered(judgement: &Judgement) -> bool {
    let of = |rule: &str| judgement.findings.iter().any(|finding| finding.rule == rule);
    judgement.wires.is_some() && !of("connection.short") && !of("connection.polarity")
}

/// A sample's statements, a block as one, without the first.
fn statements(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let mut open = false;
    for line in text.lines().filter(|line| !line.trim_start().starts_with('#') && !line.trim().is_empty()) {
        match all.last_mut() {
            Some(last) if open || last.ends_with('\\') => last.push_str(&format!("\n{line}")),
            _ => all.push(line.to_owned()),
        }
        open = if line.trim_end().ends_with('{') { true } else { open && line.trim() != "}" };
    }
    all
}

fn shuffled(mut all: Vec<String>, dice: &mut Dice) -> Vec<String> {
    for at in (1..all.len()).rev() {
        all.swap(at, dice.below(at + 1));
    }
    all
}

fn drawn(dice: &mut Dice) -> Draft {
    Draft::new(dice, Manner::Sane)
}

/// Which of the design's wires, by its place among the statements.
fn wire_at(all: &[String], dice: &mut Dice) -> Option<usize> {
    let wires: Vec<usize> = (0..all.len()).filter(|at| all[*at].trim_start().starts_with("wire")).collect();
    (!wires.is_empty()).then(|| *dice.one_of(&wires))
}

/// A wire statement with its ends changed for each other.
fn turned(statement: &str) -> String {
    let words: Vec<&str> = statement.split_whitespace().collect();
    let mut words: Vec<String> = words.into_iter().map(str::to_owned).collect();
    if words.len() > 5 && words[2] == "from" && words[4] == "to" {
        words.swap(3, 5);
    }
    if let Some(at) = words.iter().position(|word| word == "ends").filter(|at| at + 2 < words.len()) {
        words.swap(at + 1, at + 2);
    }
    words.join(" ")
}

/// What is computed of every wire.
fn evidence(judgement: &Judgement) -> BTreeMap<String, (f64, Option<f64>, String)> {
    let amps = |flow: Flow| match flow {
        Flow::None => 0.0,
        Flow::Limited(current) => (current.as_amps() * 1e3).round() / 1e3,
        Flow::Unlimited => f64::INFINITY,
    };
    let wires = judgement.wires.iter().flatten();
    wires
        .map(|wire| {
            let circulation = wire.circulation.map(amps);
            let role = wire.role.word().to_owned();
            (wire.name.clone(), (amps(wire.let_through), circulation, role))
        })
        .collect()
}

/// Findings with their figures, all but their words.
fn figures(judgement: &Judgement) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = judgement
        .findings
        .iter()
        .map(|finding| {
            let numbers = finding.values.iter().filter_map(|(key, value)| match value {
                Value::Number(number) => Some(format!("{key} {number:.6}")),
                _ => None,
            });
            let figures: Vec<String> = numbers.collect();
            (format!("{} {}", finding.rule, finding.subject), format!("{} {figures:?}", finding.severity))
        })
        .collect();
    all.sort();
    all
}

fn order_does_not_matter(head: &str, all: &[String], dice: &mut Dice) {
    let first = judge(format!("{head}\n{}", all.join("\n")));
    if !is_ordered(&first) {
        return;
    }
    let mixed = format!("{head}\n{}", shuffled(all.to_vec(), dice).join("\n"));
    let second = judge(mixed.clone());
    assert_eq!(verdicts(&first, as_is), verdicts(&second, as_is), "{}\nbecame\n{mixed}", all.join("\n"));
}

fn ends_do_not_matter(before: &str, after: &str) {
    let (first, second) = (judge(before), judge(after));
    assert_eq!(figures(&first), figures(&second), "{before}\nbecame\n{after}");
    assert_eq!(evidence(&first), evidence(&second), "{before}\nbecame\n{after}");
}

/// Two ways of the same length lead to a panel, one of them through a second fuse: which is written first tells nothing.
#[test]
fn a_panel_fed_by_two_ways() {
    let all = [
        "battery b1 lifepo4 12 V 101 Ah fault 5 kA",
        "bar plus2 M8 x 6 250 A",
        "bar minus3 M8 x 6 250 A",
        "charger c4 in 12 V 30 A out 12 V 2 A isolated",
        "fuse f5 5 A bolt-in volts 32 V breaks 2 kA",
        "charger c6 in 12 V 30 A out 12 V 15 A isolated outputs 2",
        "meter m7 300 A 50 mV",
        "fuse f8 40 A bolt-in volts 32 V breaks 2 kA",
        "switch sw9 60 A",
        "fuse f10 2 A class-t volts 32 V breaks 2 kA on plus2",
        "load l11 12 V 5 A",
        "switch sw12 15 A remote",
        "fuse f13 2 A blade volts 32 V breaks 2 kA on plus2",
        "fuse f14 5 A strip volts 32 V breaks 2 kA",
        "load l15 12 V 60 A standby",
        "supply s16 12 V fault 1 kA",
        "meter m17 300 A 50 mV",
        "cutoff u18 40 A",
        "wire w19 from s16.- to c6.out- 6 mm2 4 m brown insulation 60 C",
        "wire w20 from plus2 to f14.load 6 mm2 7 in black insulation 60 C",
        "wire w21 from plus2.3 to c6.out2+ 35 mm2 0.1 m yellow",
        "wire w22 from minus3.3 to c6.in- 2/0 AWG 0.6 m red/yellow",
        "wire w23 from f5.load to m17.sense 6 AWG 150 mm black",
        "wire w24 from f10.load to f5.load 6 AWG 4 m red/yellow bond",
        "wire w25 from u18.load to f5.line 16 mm2 7 in red",
        "wire w26 from f5.load to c6.out2+ 0.75 mm2 4 m green insulation 60 C",
        "wire w27 from plus2.3 to f8.line 6 mm2 12.5 m yellow bond",
        "wire w28 from c4.in+ to m17.sense 14 SAE 0.1 m black bond",
        "wire w29 from u18.line to b1.+ 16 mm2 7 in green cranking",
        "wire w30 from c4.out- to c6.in- 35 mm2 0.6 m bare",
    ];
    let mixed = [
        1, 2, 25, 21, 24, 6, 27, 8, 16, 10, 22, 12, 13, 14, 19, 23, 28, 11, 9, 26, 29, 4, 17, 15, 5, 3, 0, 7,
        18, 20,
    ]
    .map(|at: usize| all[at]);
    let judged = |all: [&str; 30]| judge(format!("design two-ways \"Invented\"\n{}", all.join("\n")));
    let (first, second) = (judged(all), judged(mixed));
    assert!(first.findings.iter().any(|finding| finding.rule == "protection.oversize"));
    assert_eq!(verdicts(&first, as_is), verdicts(&second, as_is));
}

/// Two batteries give a polarised breaker the same fault current from its two sides: which is written first tells nothing.
#[test]
fn a_breaker_between_equal_batteries() {
    let mut all = [
        "battery b1 lifepo4 12 V 101 Ah fault 5 kA",
        "bar plus2 M8 x 6 250 A",
        "bar minus3 M8 x 6 250 A",
        "post n4 M8",
        "supply s5 12 V 30 A",
        "meter m6 300 A 50 mV counts b1",
        "hub h7 5 W",
        "charger c8 from ac out 12 V 2 A",
        "fuse f9 60 A blade volts 32 V breaks 2 kA on plus2",
        "breaker q10 7.5 A volts 48 V breaks 3 kA polarised",
        "post n11 M8",
        "charger c12 in 12 V 30 A out 12 V 400 A isolated",
        "charger c13 in 12 V 30 A out 12 V 125 A common outputs 2",
        "hub h14 5 W",
        "battery b15 nmc 12 V 115 Ah fault 5 kA",
        "plug p16 15 A",
        "solar pv17 voc 22 V isc 6 A vmp 18 V imp 5.5 A strings 3",
        "fuse f18 125 A bolt-in volts 32 V breaks 2 kA on plus2",
        "wire w19 from c13.in+ to b15.+ 2.5 mm2 7 in brown sheathed",
        "bolt q10.line to f9.load",
        "wire w20 from c13.in+ to s5.+ 95 mm2 7 in red/yellow cranking",
        "wire w21 from f18.load to p16.a 16 mm2 150 mm black sheathed",
        "wire w22 from h14.- to m6.sys 16 mm2 12.5 m yellow",
        "wire w23 from c13.in- to c8.out- 95 mm2 150 mm yellow sheathed",
        "bolt q10.load to b15.+",
        "wire w24 from pv17.+ to c13.in+ 35 mm2 4 m yellow",
        "wire w25 from q10.line to b15.+ 0.75 mm2 0.1 m red",
        "bolt b1.+ to plus2",
    ];
    let judged = |all: &[&str]| judge(format!("design equal \"Invented\"\n{}", all.join("\n")));
    let first = judged(&all);
    all.rotate_left(1);
    assert!(all.last().is_some_and(|last| last.starts_with("battery b1")));
    let second = judged(&all);
    assert!(first.findings.iter().any(|finding| finding.rule == "protection.breaking-capacity"));
    assert_eq!(verdicts(&first, as_is), verdicts(&second, as_is));
}

/// Of the same statements backwards the same is told, and this rule has something to tell.
fn backwards_is_the_same(all: &[&str], rule: &str) {
    let judged = |all: &[&str]| judge(format!("design turned \"Invented\"\n{}", all.join("\n")));
    let first = judged(all);
    let second = judged(&all.iter().rev().copied().collect::<Vec<_>>());
    assert!(first.findings.iter().any(|finding| finding.rule == rule));
    assert_eq!(verdicts(&first, as_is), verdicts(&second, as_is));
}

/// Two loads of constant current that nothing can feed, one of which pulls the other down with it: which is written first
/// tells nothing.
#[test]
fn a_load_that_pulls_another_down() {
    let all = [
        "battery b1 gel 12 V 101 Ah fault 5 kA",
        "bar plus2 M8 x 6 250 A",
        "bar minus3 M8 x 6 250 A",
        "cutoff u4 5 A",
        "fuse f5 60 A bolt-in volts 32 V breaks 2 kA on plus2",
        "load l6 12 V 400 A",
        "load l7 12 V 40 A critical",
        "bolt plus2 to l7.+",
        "wire w8 from plus2 to l6.+ 0.75 mm2 7 in black sheathed",
        "wire w9 from u4.line to plus2 95 mm2 1.5 m black",
        "wire w10 from minus3 to l7.- 2.5 mm2 7 in bare insulation 60 C",
        "wire w11 from l6.+ to b1.+ 2/0 AWG 1.5 m brown",
        "wire w12 from u4.load to l7.+ 0.75 mm2 0.6 m red bond",
        "wire w13 from l7.- to b1.- 1.5 mm2 4 m black",
        "wire w14 from minus3.3 to l7.- 16 mm2 4 m red/yellow",
        "wire w15 from l7.- to l6.- 0.75 mm2 150 mm bare",
        "wire w16 from l6.+ to f5.load 2.5 mm2 7 in green",
        "bolt l7.+ to plus2.3",
        "wire w17 from minus3.3 to b1.- 2.5 mm2 12.5 m yellow sheathed",
        "wire w18 from f5.load to u4.load 2.5 mm2 0.1 m red",
    ];
    backwards_is_the_same(&all, "conductor.overloaded");
}

/// Two batteries feed a mesh in which one device opens after the other: to which of them a fault counts hangs on no order.
#[test]
fn a_mesh_that_is_cleared_in_turn() {
    let all = [
        "battery b1 nmc 12 V 101 Ah fault 5 kA",
        "bar plus2 M8 x 6 250 A",
        "bar minus3 M8 x 6 250 A",
        "charger c4 in 12 V 30 A out 12 V 400 A isolated",
        "load l5 12 V 7.5 A standby",
        "fuse f6 400 A bolt-in volts 32 V breaks 2 kA on plus2",
        "alternator a7 12 V 5 A",
        "battery b8 lead-acid 12 V 108 Ah fault 5 kA",
        "charger c9 in 12 V 30 A out 12 V 2 A isolated",
        "plug p10 40 A",
        "wire w11 from minus3.3 to c9.out- 95 mm2 4 m green cranking",
        "wire w12 from minus3 to a7.- 6 mm2 4 m green count 2",
        "wire w13 from b1.- to c4.in- 6 mm2 7 in brown count 2",
        "wire w14 from minus3 to l5.- 95 mm2 1.5 m brown",
        "wire w15 from plus2 to c4.out+ 16 mm2 0.1 m red/yellow bond",
        "wire w16 from minus3.3 to b8.- 1.5 mm2 7 in red insulation 60 C",
        "wire w17 from p10.b to c9.out+ 14 SAE 12.5 m black",
        "wire w18 from b1.+ to p10.a 14 SAE 12.5 m red count 2",
        "wire w19 from l5.- to b8.- 35 mm2 1.5 m red",
        "wire w20 from l5.+ to c4.in+ 2/0 AWG 150 mm yellow sheathed",
        "wire w21 from c9.in+ to c4.out+ 6 mm2 12.5 m black count 2",
        "wire w22 from a7.+ to c9.out+ 0.75 mm2 150 mm red",
        "wire w23 from l5.- to minus3 6 AWG 12.5 m red cranking",
        "wire w24 from l5.+ to c4.out+ 2.5 mm2 7 in red",
        "bolt c4.out- to b8.-",
        "wire w25 from p10.a to c4.in+ 0.75 mm2 150 mm bare",
        "wire w26 from p10.a to b8.+ 35 mm2 0.6 m red/yellow count 2",
        "wire w27 from f6.load to a7.+ 6 AWG 12.5 m red bond",
    ];
    backwards_is_the_same(&all, "protection.slow");
}

/// The feed of a starter falls into two parts that its own cables alone join; a fuse on one follows nothing on the other.
#[test]
fn a_starter_feed_in_two_parts() {
    let all = [
        "battery b1 lifepo4 12 V 101 Ah fault 5 kA",
        "bar plus M8 x 6 250 A",
        "load starter 12 V 15 A motor stall 40 A",
        "charger c1 in 12 V 30 A out 12 V 400 A isolated outputs 2",
        "fuse f1 7.5 A terminal-block volts 32 V breaks 2 kA",
        "wire w1 from plus.3 to b1.+ 1.5 mm2 4 m bare cranking",
        "wire w2 from c1.in+ to b1.+ 2/0 AWG 7 in black sheathed",
        "wire w3 from c1.out1+ to plus.3 0.75 mm2 4 m red/yellow",
        "bolt b1.+ to starter.+",
        "wire w4 from b1.+ to c1.out1+ 35 mm2 7 in yellow",
        "wire w5 from b1.+ to f1.load 1.5 mm2 1.5 m brown cranking",
        "wire w6 from c1.in+ to plus 6 mm2 0.6 m brown cranking",
    ];
    let mixed = [1, 11, 9, 10, 0, 5, 4, 7, 2, 6, 3, 8].map(|at| all[at]);
    let judged = |all: [&str; 12]| judge(format!("design two-parts \"Invented\"\n{}", all.join("\n")));
    let (first, second) = (judged(all), judged(mixed));
    assert!(first.wires.is_some());
    assert_eq!(verdicts(&first, as_is), verdicts(&second, as_is));
}

#[test]
fn ends_of_samples_do_not_matter() {
    for (name, text) in samples() {
        let all: Vec<String> = text.lines().map(str::to_owned).collect();
        let is_plain =
            |line: &&String| line.starts_with("wire") && !line.contains('#') && !line.ends_with('\\');
        if name.contains("language") || all.iter().filter(is_plain).count() == 0 {
            continue;
        }
        let after: Vec<String> = all
            .iter()
            .enumerate()
            .map(|(at, line)| if is_plain(&line) && at % 2 == 0 { turned(line) } else { line.clone() })
            .collect();
        ends_do_not_matter(&text, &after.join("\n"));
    }
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn order_of_statements(mut dice in dice(500)) {
        let draft = drawn(&mut dice);
        let all: Vec<String> = plain(&draft.statements).lines().skip(1).map(str::to_owned).collect();
        order_does_not_matter("design drawn \"Made at random\"", &all, &mut dice);
    }

    #[test]
    fn order_of_samples(mut dice in dice(200)) {
        let samples = samples();
        let all = statements(&dice.one_of(&samples).1);
        let Some((head, rest)) = all.split_first() else { return Ok(()) };
        // A `stack` tells its rings from the base up by itself; no order of statements is in it.
        order_does_not_matter(head, rest, &mut dice);
    }

    #[test]
    fn names(mut dice in dice(500)) {
        let draft = drawn(&mut dice);
        let renamed = |name: &str| {
            let digits: String = name.chars().filter(char::is_ascii_digit).collect();
            digits.parse::<usize>().map_or_else(|_| name.to_owned(), |n| format!("z{}", 999 - n))
        };
        let (before, after) = (plain(&draft.statements), text(&draft.statements, renamed));
        let (first, second) = (judge(before.clone()), judge(after));
        assert_eq!(verdicts(&first, renamed), verdicts(&second, as_is), "{before}");
    }

    #[test]
    fn ends_of_wires(mut dice in dice(500)) {
        let mut statements = drawn(&mut dice).statements;
        let before = plain(&statements);
        let Some(at) = wire_at(&statements, &mut dice) else { return Ok(()) };
        statements[at] = turned(&statements[at]);
        ends_do_not_matter(&before, &plain(&statements));
    }

    #[test]
    fn a_joint_in_a_wire(mut dice in dice(500)) {
        let mut statements = drawn(&mut dice).statements;
        let before = plain(&statements);
        let first = judge(before.clone());
        let Some(at) = wire_at(&statements, &mut dice) else { return Ok(()) };
        let words: Vec<String> = statements[at].split_whitespace().map(str::to_owned).collect();
        let name = words[1].trim_matches('@').to_owned();
        let (Ok(length), "m") = (words[8].parse::<f64>(), words[9].as_str()) else { return Ok(()) };
        let (from, to, rest) = (&words[3], &words[5], words[10..].join(" "));
        let half = format!("{} {} {} m {rest}", words[6], words[7], length / 2.0);
        // Wires that run side by side share what comes, and are judged as one; a joint makes them two.
        let alone = !first.wires.iter().flatten().any(|wire| wire.name == name && wire.ampacity_from.is_empty())
            && !has_twin(&statements, at);
        if !alone {
            return Ok(());
        }
        statements[at] = format!("post joint M8\nwire half1 from {from} to joint {half}\nwire half2 from joint to {to} {half}");
        let second = judge(plain(&statements));
        let (first, mut second) = (evidence(&first), evidence(&second));
        let halves = (second.remove("half1"), second.remove("half2"));
        let mut rest = first.clone();
        let whole = rest.remove(&name);
        let flows = |all: &BTreeMap<String, (f64, Option<f64>, String)>| -> Vec<(String, f64)> {
            all.iter().map(|(name, row)| (name.clone(), row.0)).collect()
        };
        assert_eq!(flows(&rest), flows(&second), "a joint in {name} of\n{before}");
        if let (Some(whole), (Some(one), Some(two))) = (whole, halves) {
            assert_eq!(whole.0, one.0.max(two.0), "a joint in {name} of\n{before}");
        }
    }

    #[test]
    fn a_smaller_fuse(mut dice in dice(500)) {
        let mut statements = drawn(&mut dice).statements;
        let before = plain(&statements);
        let fuses: Vec<usize> = (0..statements.len()).filter(|at| statements[*at].starts_with("fuse")).collect();
        if fuses.is_empty() {
            return Ok(());
        }
        let at = *dice.one_of(&fuses);
        let words: Vec<&str> = statements[at].split_whitespace().collect();
        let mut words: Vec<String> = words.into_iter().map(str::to_owned).collect();
        words[2] = (words[2].parse::<f64>().unwrap() / 2.0).to_string();
        statements[at] = words.join(" ");
        let (first, second) = (evidence(&judge(before.clone())), evidence(&judge(plain(&statements))));
        for (name, row) in &first {
            let after = second.get(name).unwrap();
            assert!(after.0 <= row.0, "{name}: {} A became {} A in\n{before}", row.0, after.0);
            if let (Some(before_a), Some(after_a)) = (row.1, after.1) {
                assert!(after_a <= before_a, "{name} circulates {before_a} A, then {after_a} A in\n{before}");
            }
        }
    }
}

/// Whether another wire joins the same two nodes, bolts taken as one node.
fn has_twin(statements: &[String], at: usize) -> bool {
    let mut node: BTreeMap<String, String> = BTreeMap::new();
    fn root(node: &BTreeMap<String, String>, name: &str) -> String {
        let mut name = name.to_owned();
        while let Some(next) = node.get(&name) {
            name.clone_from(next);
        }
        name
    }
    let whole = |terminal: &str| terminal.strip_suffix(".3").unwrap_or(terminal).to_owned();
    for statement in statements {
        let words: Vec<&str> = statement.split_whitespace().collect();
        let pair = match words.as_slice() {
            ["bolt", a, "to", b, ..] => (whole(a), whole(b)),
            ["fuse", name, .., "on", bar] => (format!("{name}.line"), whole(bar)),
            [kind, name, .., "returns", chassis] if *kind != "wire" => (format!("{name}.-"), whole(chassis)),
            _ => continue,
        };
        let (a, b) = (root(&node, &pair.0), root(&node, &pair.1));
        if a != b {
            node.insert(a, b);
        }
    }
    let ends = |statement: &str| {
        let words: Vec<&str> = statement.split_whitespace().collect();
        match words.as_slice() {
            ["wire", _, "from", a, "to", b, ..] => {
                let mut ends = [root(&node, &whole(a)), root(&node, &whole(b))];
                ends.sort();
                Some(ends)
            }
            _ => None,
        }
    };
    let own = ends(&statements[at]);
    let twin = |(other, statement): (usize, &String)| other != at && ends(statement) == own;
    own.as_ref().is_some_and(|ends| ends[0] == ends[1]) || statements.iter().enumerate().any(twin)
}
