//! The judged failures of random returns against opening every connection and solving everything again.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use ohmward::check::{Options, StudyOptions, study};
use ohmward::text::MemoryFiles;

use super::dice::{Dice, dice};
use super::{config, judge_with, options};

const RULE: &str = "return.single-failure";

/// Batteries, a charger and loads on one positive bar; their negatives on a few bars, joined at random by wires, bonds and
/// data leads.
fn drawn(dice: &mut Dice) -> String {
    let mut text =
        String::from("design drawn \"Made at random\"\nassume insulation 105 C\nbar plus M8 x 9 250 A\n");
    let mut on = String::from("mode lit {\n");
    let n_bars = 2 + dice.below(3);
    for bar in 0..n_bars {
        let _ = writeln!(text, "bar n{bar} M8 x 9 250 A");
    }
    let sizes = ["0.75 mm2", "2.5 mm2", "6 mm2", "16 mm2", "35 mm2"];
    let mut leads = Vec::new();
    for battery in 0..1 + dice.below(2) {
        let (size, bar) = (dice.one_of(&sizes[2..]), dice.below(n_bars));
        let _ = writeln!(text, "battery b{battery} agm 12 V {} Ah fault 2 kA full 14.4 V", 100 + battery);
        let _ = writeln!(text, "wire p{battery} from b{battery}.+ to plus 35 mm2 1 m");
        let _ = writeln!(text, "wire m{battery} from b{battery}.- to n{bar} {size} 1 m");
        let _ = writeln!(on, "  b{battery} {} V", dice.one_of(&["12.2", "12.4", "12.5"]));
        leads.push(format!("b{battery}"));
    }
    if dice.once_in(2) {
        let (amps, bar) = (dice.one_of(&["20", "60"]), dice.below(n_bars));
        let _ = writeln!(text, "charger shore out 12 V {amps} A from ac");
        let _ = writeln!(
            text,
            "wire cp from shore.out+ to plus 35 mm2 1 m\nwire cm from shore.out- to n{bar} 16 mm2 1 m"
        );
        let _ = writeln!(on, "  shore on");
    }
    for load in 0..1 + dice.below(4) {
        let bar = dice.below(n_bars);
        let size = dice.one_of(&sizes[1..]);
        if dice.once_in(2) {
            let _ = writeln!(
                text,
                "inverter v{load} 12 V {} W efficiency 90 %",
                dice.one_of(&["100", "400", "1200"])
            );
            let _ = writeln!(on, "  v{load} on");
            leads.push(format!("v{load}"));
        } else {
            let _ = writeln!(text, "load v{load} 12 V {}", dice.one_of(&["3 A", "40 A", "0.4 ohm", "30 W"]));
            let _ = writeln!(on, "  v{load} on");
        }
        let _ = writeln!(text, "wire vp{load} from plus to v{load}.+ 35 mm2 1 m");
        let count = dice.one_of(&["", "", " count 2"]);
        let _ = writeln!(text, "wire vm{load} from v{load}.- to n{bar} {size} 1 m{count}");
    }
    for link in 0..n_bars - 1 + dice.below(4) {
        let (a, b) = match link < n_bars - 1 {
            true => (link, link + 1),
            false => (dice.below(n_bars), dice.below(n_bars)),
        };
        if a == b {
            continue;
        }
        let (size, bond) = (dice.one_of(&sizes), dice.one_of(&["", "", " bond"]));
        let _ = writeln!(text, "wire l{link} from n{a} to n{b} {size} {} m{bond}", 1 + dice.below(4));
    }
    if dice.once_in(2) && 1 < leads.len() {
        let _ = writeln!(text, "data d from {}.data to {}.data 3 m", leads[0], leads[leads.len() - 1]);
    }
    text + &on + "}\n"
}

/// The law below would hold of returns that never fail, too.
#[test]
fn many_random_returns_have_a_failure_to_find_and_many_have_none() {
    let mut runner = TestRunner::deterministic();
    let findings = (0..64).map(|_| {
        let Ok(tree) = dice(80).new_tree(&mut runner) else { panic!("dice") };
        let text = drawn(&mut tree.current());
        let found = judge_with(text.as_str(), &Options { only: vec![RULE.into()], ..options() }).findings;
        let by_way = found.iter().filter(|row| row.headline.contains("comes home by")).count();
        (found.len(), by_way)
    });
    let findings: Vec<(usize, usize)> = findings.collect();
    let count = |of: fn(&(usize, usize)) -> bool| findings.iter().filter(|row| of(row)).count();
    let (none, home, over) = (count(|row| row.0 == 0), count(|row| 0 < row.1), count(|row| row.1 < row.0));
    assert!(
        8 <= none && 8 <= home && 8 <= over,
        "{none} without, {home} by a bond or lead, {over} overloaded"
    );
}

proptest! {
    #![proptest_config(config(48))]

    #[test]
    fn what_is_judged_is_what_solving_everything_again_tells(dice in dice(80)) {
        let mut dice = dice;
        let text = drawn(&mut dice);
        let judged = judge_with(text.as_str(), &Options { only: vec![RULE.into()], ..options() });
        let wrong = judged.findings.iter().any(|row| row.rule.starts_with("language."));
        prop_assert!(!wrong, "{:?}\n{text}", judged.findings);
        let files = MemoryFiles::default().with("it.loom", text.as_str());
        let studied = study("it.loom", &files, &StudyOptions { failures: true, ..StudyOptions::default() });
        let (Some(all), Some(figures)) = (&studied.failures, &studied.figures) else {
            return Err(TestCaseError::fail(format!("no study of\n{text}")));
        };
        let names = figures.failures.iter().flat_map(|failures| &failures.opened).map(|one| one.name.clone());
        let harm: BTreeSet<String> = all.opened.iter().zip(names).filter(|(failure, _)| {
            let does = |effect: &ohmward::study::Effect| {
                let conductor = matches!(failure.opened, ohmward::study::Opened::Conductor(_));
                (effect.reroutes || conductor) && !(effect.overloads.is_empty() && effect.homes.is_empty())
            };
            failure.effects.iter().any(does)
        }).map(|row| row.1.trim_start_matches("one conductor of ").to_owned()).collect();
        let found: BTreeSet<String> = judged.findings.iter().map(|row| row.subject.clone()).collect();
        prop_assert_eq!(found, harm, "{}", text);
    }
}
