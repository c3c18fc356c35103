//! Current that goes around a meter, and a meter turned round, are found in every right design.

use ohmward::findings::Severity;

use super::text::{fits_of, lines_with_kits, replace_word};
use super::{Shelf, standing, told};

/// The meters of a design, with the kind of what each counts.
fn meters(text: &str) -> Vec<(&str, bool)> {
    let rows = text.lines().filter_map(|line| {
        let words: Vec<_> = line.split_whitespace().collect();
        let counted =
            words.iter().position(|word| *word == "counts").and_then(|at| words.get(at + 1)).copied()?;
        let battery = text.lines().any(|row| row.split_whitespace().take(2).eq(["battery", counted]));
        (words.first() == Some(&"meter")).then(|| words.get(1).map(|name| (*name, battery))).flatten()
    });
    rows.collect()
}

/// A load or inverter with the line of its negative and the wire's other end; in a kit or not.
struct Negative {
    file: String,
    kit: Option<String>,
    name: String,
    line: String,
    other: String,
}

fn negatives(shelf: &Shelf, path: &str) -> Vec<Negative> {
    let mut found = Vec::new();
    for file in [path, "samples/parts.loom"] {
        let rows = lines_with_kits(shelf.text(file));
        for (kit, line) in &rows {
            let words: Vec<_> = line.split_whitespace().collect();
            let ["load" | "inverter", name, ..] = words.as_slice() else { continue };
            let minus = format!("{name}.-");
            let wire = rows.iter().find_map(|(around, row)| {
                let words: Vec<_> = row.split_whitespace().collect();
                let ["wire", _, "from", from, "to", to, ..] = words.as_slice() else { return None };
                let other = if *from == minus { to } else { from };
                (around == kit && [*from, *to].contains(&minus.as_str())).then_some((*row, *other))
            });
            // One that returns through its own body has no such wire.
            if let Some((row, other)) = wire {
                found.push(Negative {
                    file: file.into(),
                    kit: kit.map(Into::into),
                    name: (*name).into(),
                    line: row.into(),
                    other: other.into(),
                });
            }
        }
    }
    found
}

#[test]
fn a_negative_on_the_batterys_side_of_its_meter_is_found() {
    let shelf = Shelf::read();
    let mut wrong = String::new();
    let mut n_moved = 0;
    for (path, text) in shelf.designs("samples") {
        for (meter, _) in meters(text).into_iter().filter(|row| row.1) {
            let bat = format!("{meter}.bat");
            for negative in negatives(&shelf, path) {
                let moved: Vec<(String, String, String)> = match &negative.kit {
                    None => {
                        let line = replace_word(&negative.line, &negative.other, &bat);
                        vec![(
                            negative.name.clone(),
                            negative.file.clone(),
                            shelf.text(&negative.file).replace(&negative.line, &line),
                        )]
                    }
                    Some(kit) => {
                        let argument = format!("{} = ", negative.other.trim_start_matches('$'));
                        let one = |fit: &str| {
                            let line = text
                                .lines()
                                .find(|line| line.split_whitespace().nth(3) == Some(fit))
                                .expect("the fit");
                            let at = line.find(&argument).expect("the argument") + argument.len();
                            let end = at + line[at..].find([',', ')']).expect("the argument's end");
                            let made = format!("{}{bat}{}", &line[..at], &line[end..]);
                            (format!("{fit}/{}", negative.name), path.to_owned(), text.replace(line, &made))
                        };
                        fits_of(text, kit).into_iter().map(one).collect()
                    }
                };
                for (name, file, changed) in moved {
                    n_moved += 1;
                    let judgement = shelf.with([(file, changed)]).check(path, false);
                    let errors: Vec<_> =
                        standing(&judgement).filter(|row| row.severity == Severity::Error).collect();
                    if !errors.iter().any(|row| row.subject == name && row.rule == "meter.uncounted") {
                        wrong += &format!("{path} with {name}.- on {bat}:\n{}\n", told(&errors));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(n_moved >= 25, "{n_moved} moved");
}

#[test]
fn a_meter_turned_round_is_found() {
    let shelf = Shelf::read();
    let mut n_turned = 0;
    for (path, text) in shelf.designs("samples") {
        for (meter, _) in meters(text) {
            n_turned += 1;
            let (bat, sys) = (format!("{meter}.bat"), format!("{meter}.sys"));
            let turned = replace_word(text, &bat, "turned-meter");
            let turned = replace_word(&replace_word(&turned, &sys, &bat), "turned-meter", &sys);
            let judgement = shelf.with([(path.to_owned(), turned)]).check(path, false);
            let all: Vec<_> = standing(&judgement).collect();
            let found = all.iter().any(|row| row.subject == meter && row.rule == "meter.reversed");
            assert!(found, "{path} with {meter} turned round:\n{}", told(&all));
        }
    }
    assert!(n_turned >= 6, "{n_turned} meters");
}
