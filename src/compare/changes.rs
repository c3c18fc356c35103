//! From two lists of properties to sentences.

use rustc_hash::{FxHashMap, FxHashSet};

use super::Change;
use super::facts::{Fact, Form};
use super::links::shown;

/// What differs between the properties of one element, each told of `subject`.
pub(super) fn changes(subject: &str, old: &[Fact], new: &[Fact]) -> Vec<Change> {
    let before: FxHashMap<_, &Fact> = old.iter().map(|fact| (key(fact), fact)).collect();
    let after: FxHashSet<_> = new.iter().map(key).collect();
    let mut all = Vec::new();
    for fact in new {
        match before.get(&key(fact)) {
            Some(before) if before.compared() == fact.compared() => {}
            before => all.push(change(subject, before.copied(), Some(fact))),
        }
    }
    let gone = old.iter().filter(|fact| !after.contains(&key(fact)));
    all.extend(gone.map(|fact| change(subject, Some(fact), None)));
    all
}

/// What two facts have in common that are told in one sentence.
fn key(fact: &Fact) -> (&str, Option<&str>) {
    (&fact.property, (fact.form == Form::Member).then(|| fact.compared()))
}

fn change(subject: &str, old: Option<&Fact>, new: Option<&Fact>) -> Change {
    let text = sentence(subject, old, new);
    let property = new.or(old).map_or("", |fact| shown(&fact.property)).to_owned();
    Change {
        property,
        from: old.map(|fact| fact.value.clone()),
        to: new.map(|fact| fact.value.clone()),
        text,
    }
}

fn sentence(subject: &str, old: Option<&Fact>, new: Option<&Fact>) -> String {
    let Some(fact) = new.or(old) else { return String::new() };
    let label = &fact.label;
    match (fact.form, old, new) {
        (Form::Main, Some(old), Some(new)) => format!("{subject} goes from {} to {}", old.value, new.value),
        (Form::Named, Some(old), Some(new)) => {
            format!("{subject}: {label} goes from {} to {}", old.value, new.value)
        }
        (Form::Main | Form::Named, None, Some(new)) => {
            format!("{subject}: {label} is now stated, {}", new.value)
        }
        (Form::Main | Form::Named, Some(old), None) => {
            format!("{subject}: {label} is no longer stated (it was {})", old.value)
        }
        (Form::Word, Some(old), Some(new)) => format!("{subject} is now {}, not {}", new.value, old.value),
        (Form::Word | Form::Flag, _, Some(new)) => format!("{subject} is now {}", new.value),
        (Form::Word | Form::Flag, Some(old), None) => format!("{subject} is no longer {}", old.value),
        (Form::Link, Some(old), Some(new)) => {
            format!("{subject} now {label} {}, not {}", new.value, old.value)
        }
        (Form::Link | Form::Member, _, Some(new)) => format!("{subject} now {label} {}", new.value),
        (Form::Link | Form::Member, Some(old), None) => {
            format!("{subject} no longer {label} {}", old.value)
        }
        (Form::Sets, Some(old), Some(new)) => {
            format!("{subject} now sets {label} to {}, not to {}", new.value, old.value)
        }
        (Form::Sets, None, Some(new)) => format!("{subject} now sets {label} to {}", new.value),
        (Form::Sets, Some(old), None) => format!("{subject} no longer sets {label} (it was {})", old.value),
        (_, None, None) => String::new(),
    }
}
