//! `ohmward book NAME --test`: a book's own rules, tried on their examples.

use std::io::{self, Write};
use std::path::PathBuf;

use ohmward::book::Book;
use ohmward::trial::{self, Outcome as Went, Tried};

use super::disk::{Disk, Start, shown_path};
use super::{Outcome, complain};

/// Tries the book that ships by this name, or the one at this path, and tells of each rule in a line.
pub(super) fn run(name: &str) -> Outcome {
    let path = PathBuf::from(name);
    let shown = if Book::shipped(name).is_some() { name.to_owned() } else { shown_path(&path) };
    let disk = Disk::new(&shown, Start::File(path), None);
    let tried = trial::try_book(&shown, &disk, super::today());
    if let Err(error) = tell(&tried, &mut io::stdout().lock()) {
        complain(&format!("nothing can be written: {error}"));
        return Outcome::Unjudged;
    }
    let any = |is: fn(&Went) -> bool| tried.trials.iter().any(|trial| is(&trial.outcome));
    if tried.title.is_none() || any(|went| matches!(went, Went::Unjudged(_))) {
        Outcome::Unjudged
    } else if any(|went| matches!(went, Went::Failed(_))) {
        Outcome::Failed
    } else {
        Outcome::Passed
    }
}

fn tell(tried: &Tried, out: &mut dyn Write) -> io::Result<()> {
    for trial in &tried.trials {
        let (path, line) = &trial.place;
        let rule = if trial.rule.is_empty() { String::new() } else { format!("{}: ", trial.rule) };
        match &trial.outcome {
            Went::Passed { says } => writeln!(out, "{path}:{line}: passed: {rule}{says}")?,
            Went::Failed(why) => writeln!(out, "{path}:{line}: failed: {rule}{why}")?,
            Went::Unjudged(why) => writeln!(out, "{path}:{line}: not judged: {rule}{why}")?,
        }
    }
    let count = |is: fn(&Went) -> bool| tried.trials.iter().filter(|trial| is(&trial.outcome)).count();
    let Some(title) = &tried.title else { return Ok(()) };
    if tried.trials.is_empty() {
        return writeln!(out, "«{title}» has no rules of its own");
    }
    writeln!(
        out,
        "«{title}»: {} passed, {} failed, {} not judged",
        count(|went| matches!(went, Went::Passed { .. })),
        count(|went| matches!(went, Went::Failed(_))),
        count(|went| matches!(went, Went::Unjudged(_)))
    )
}
