//! Nothing at all makes a judgement panic or hang, and every output can be made of it.

use proptest::prelude::*;
use proptest::strategy::ValueTree;

use super::dice::{Dice, dice};
use super::random::{Draft, Manner, plain};
use super::{config, samples, survives};

/// Damages a text: cuts bytes, swaps, doubles or drops lines, puts one of its words in place of another, splices in another.
fn damage(mut text: Vec<u8>, other: &str, dice: &mut Dice) -> Vec<u8> {
    for _ in 0..1 + dice.below(5) {
        let mut lines: Vec<Vec<u8>> = text.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        let (i, j) = (dice.below(lines.len()), dice.below(lines.len()));
        match dice.below(8) {
            0 => {
                let at = dice.below(text.len() + 1);
                text.truncate(at);
                continue;
            }
            1 => {
                let at = dice.below(text.len() + 1);
                let end = (at + dice.below(40)).min(text.len());
                text.drain(at..end);
                continue;
            }
            2 => {
                let (at, from) = (dice.below(text.len() + 1), dice.below(other.len()));
                let end = (from + dice.below(400)).min(other.len());
                text.splice(at..at, other.as_bytes()[from..end].iter().copied());
                continue;
            }
            3 => lines.swap(i, j),
            4 => {
                let line = lines[i].clone();
                lines.insert(j, line);
            }
            5 => {
                lines.remove(i);
            }
            _ => {
                let whole = String::from_utf8_lossy(&text).into_owned();
                let words: Vec<&str> = whole.split_whitespace().collect();
                if !words.is_empty() {
                    let (old, new) = (*dice.one_of(&words), *dice.one_of(&words));
                    let line = String::from_utf8_lossy(&lines[i]).into_owned();
                    let first = line.split_whitespace().nth(dice.below(6)).unwrap_or(old).to_owned();
                    lines[i] = line.replacen(&first, new, 1).into_bytes();
                }
            }
        }
        text = lines.join(&b'\n');
    }
    text
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..800), headed in any::<bool>()) {
        let mut text = if headed { b"design d \"t\"\n".to_vec() } else { Vec::new() };
        text.extend(bytes);
        survives(text);
    }

    #[test]
    fn wild_designs(mut dice in dice(500)) {
        survives(plain(&Draft::new(&mut dice, Manner::Wild).statements).into_bytes());
    }

    #[test]
    fn damaged_samples(mut dice in dice(60)) {
        let samples = samples();
        let other = dice.one_of(&samples).1.clone();
        let text = dice.one_of(&samples).1.clone().into_bytes();
        survives(damage(text, &other, &mut dice));
    }

    #[test]
    fn damaged_wild_designs(mut dice in dice(500)) {
        let text = plain(&Draft::new(&mut dice, Manner::Wild).statements);
        survives(damage(text.clone().into_bytes(), &text, &mut dice));
    }
}

/// Random designs are worth something only where most are read.
#[test]
fn most_wild_designs_are_judged() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut judged = 0;
    for _ in 0..60 {
        let mut dice = dice(500).new_tree(&mut runner).unwrap().current();
        let judgement = super::judge(plain(&Draft::new(&mut dice, Manner::Wild).statements));
        judged += usize::from(judgement.wires.is_some());
    }
    assert!(40 <= judged, "{judged} of 60 are in the language");
}
