//! `ohmward compare`: what changed between two designs, or between two revisions of one.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::ValueEnum;
use ohmward::check::{Judgement, Options, check_design};
use ohmward::compare::{Comparison, Side, compare};
use ohmward::design::{Date, Design};
use ohmward::render::{
    CompareHuman, CompareJson, CompareMarkdown, CompareReport, Human, Json, Output, Tally,
};
use ohmward::text::Files;

use super::check::{Level, STACK, date};
use super::disk::{Disk, Shelf};
use super::failsafe::{guarded, keep_panics};
use super::git::{Range, Repository};
use super::given::{Among, Given};
use super::output::Sink;
use super::terminal::{is_terminal, manner, wants_words, width};
use super::{Outcome, today, unjudged};

/// Tells what changed between two designs, and which findings were gained and lost
///
/// Spacing, comments and the order of statements change nothing. Exit code 0: compared. 1: a finding was gained at or
/// above --fail-at. 2: a design cannot be compared (a file or revision that cannot be read, text that is not in the
/// language, wrong arguments).
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The old design, or - for standard input; with --git the design
    #[arg(value_name = "OLD")]
    old: PathBuf,

    /// The new design, or - for standard input
    #[arg(value_name = "NEW", required_unless_present = "git", conflicts_with = "git")]
    new: Option<PathBuf>,

    /// Compares two revisions of the design: REV..REV; REV...REV from where the first parted from the second; REV with
    /// the file as it is now
    #[arg(long, value_name = "REVISIONS")]
    git: Option<String>,

    /// How changes are told
    #[arg(long = "as", value_name = "FORM", default_value = "human")]
    form: Form,

    /// From which severity on a finding that was gained makes the exit code 1
    #[arg(long, value_name = "LEVEL", default_value = "never")]
    fail_at: Level,

    /// The book to judge both by, in place of the ones that the designs name
    #[arg(long, value_name = "NAME")]
    book: Option<String>,

    /// The folder that `use` may reach [default: the current folder, or a design's own where it lies elsewhere]
    #[arg(long, value_name = "DIR", value_parser = super::folder)]
    root: Option<PathBuf>,

    /// The day on which waivers are judged [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    today: Option<Date>,

    /// Writes to this file, which is replaced whole at the end, or not at all
    #[arg(short, long = "output", value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// Sentences
    Human,
    /// For a comment in a review
    Markdown,
    /// One JSON document
    Json,
}

/// One of the two, where it is read from.
struct Source {
    /// Its path as it is shown.
    path: String,
    /// The path, with the revision if it has one.
    name: String,
    files: Box<dyn Files + Send>,
}

/// One of the two as it was judged.
struct Judged {
    name: String,
    judgement: Judgement,
    design: Option<Design>,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    let shelf = match Shelf::beside(&[("-o", arguments.output.as_deref())]) {
        Ok(shelf) => shelf,
        Err(text) => return unjudged(&text),
    };
    let given = match Given::open(arguments.book.as_deref(), &shelf) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    match sources(arguments, &shelf).and_then(|(old, new)| told(arguments, &shelf, given.as_ref(), old, new))
    {
        Ok(outcome) => outcome,
        Err(text) => unjudged(&text),
    }
}

fn sources(arguments: &Arguments, shelf: &Arc<Shelf>) -> Result<(Source, Source), String> {
    let root = arguments.root.as_deref();
    match (&arguments.git, &arguments.new) {
        (Some(range), _) => revisions(range, &arguments.old, root, shelf),
        (None, Some(new)) if new == Path::new("-") && arguments.old == *new => {
            Err("standard input can be one of the two designs, not both".into())
        }
        (None, Some(new)) => Ok((on_disk(&arguments.old, root, shelf), on_disk(new, root, shelf))),
        // The arguments are told apart before this.
        (None, None) => {
            Err("there is one design; a second one, or --git, says what to compare it with".into())
        }
    }
}

fn on_disk(path: &Path, root: Option<&Path>, shelf: &Arc<Shelf>) -> Source {
    let (shown, start) = shelf.start(path);
    let files = Box::new(Disk::among(shelf, &shown, start, root));
    Source { name: shown.clone(), path: shown, files }
}

fn revisions(
    range: &str,
    path: &Path,
    root: Option<&Path>,
    shelf: &Arc<Shelf>,
) -> Result<(Source, Source), String> {
    let range = Range::parse(range)
        .ok_or("--git names no revision: REV..REV, REV...REV, or REV for the file as it is now")?;
    let repository = Repository::of(path, root)?;
    let at = |name: &str, commit: &str| -> Result<Source, String> {
        let path = repository.shown().to_owned();
        let files = Box::new(repository.at(name, commit)?);
        Ok(Source { name: format!("{path} at {name}"), path, files })
    };
    match range {
        Range::Now(old) => {
            let old = at(old, &repository.commit(old)?)?;
            Ok((old, on_disk(path, root, shelf)))
        }
        Range::Between(old, new) => {
            Ok((at(old, &repository.commit(old)?)?, at(new, &repository.commit(new)?)?))
        }
        Range::Parted(old, new) => {
            let parted = repository.parted(old, new)?;
            let name = format!("{old} where {new} parted from it");
            Ok((at(&name, &parted)?, at(new, &repository.commit(new)?)?))
        }
    }
}

fn told(
    arguments: &Arguments,
    shelf: &Shelf,
    given: Option<&Given>,
    old: Source,
    new: Source,
) -> Result<Outcome, String> {
    let options =
        Options { book: arguments.book.clone(), ..Options::on(arguments.today.unwrap_or_else(today)) };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).stack_size(STACK).build();
    let pool = pool.map_err(|error| format!("threads cannot be started: {error}"))?;
    keep_panics();
    let (old, new) = pool.join(|| judged(old, given, &options), || judged(new, given, &options));
    shelf.replaced.spares()?;
    let (Some(before), Some(after)) = (side(&old), side(&new)) else {
        return refused(arguments, vec![old.judgement, new.judgement]);
    };
    let comparison = guarded(|| compare(before, after))?;
    let report = CompareReport {
        old_name: &old.name,
        new_name: &new.name,
        old: &old.judgement,
        new: &new.judgement,
        comparison: &comparison,
    };
    Sink::whole(arguments.output.as_deref(), |out| match arguments.form {
        Form::Json => CompareJson.write(&report, out),
        Form::Markdown => CompareMarkdown.write(&report, out),
        Form::Human => human(arguments).write(&report, out),
    })?;
    Ok(if fails(arguments.fail_at, &new.judgement, &comparison) { Outcome::Failed } else { Outcome::Passed })
}

fn judged(source: Source, given: Option<&Given>, options: &Options) -> Judged {
    let Source { path, name, files } = source;
    let files = Among { given, design: &path, files: &*files };
    let (judgement, design) = match guarded(|| check_design(&path, &files, options)) {
        Ok(judged) => judged,
        Err(fault) => (Judgement::failed(&path, fault), None),
    };
    Judged { name, judgement, design }
}

/// What can be compared: a design that was judged in full.
fn side(judged: &Judged) -> Option<Side<'_>> {
    let design = judged.design.as_ref()?;
    (!Tally::of(&judged.judgement).unjudged()).then_some(Side { design, judgement: &judged.judgement })
}

fn fails(level: Level, judgement: &Judgement, comparison: &Comparison) -> bool {
    let gained = comparison.findings.gained.iter().filter_map(|change| judgement.findings.get(change.at));
    let mut open = gained.filter(|finding| finding.waived.is_none());
    level.severity().is_some_and(|least| open.any(|finding| least <= finding.severity))
}

fn human(arguments: &Arguments) -> CompareHuman {
    let terminal = is_terminal(arguments.output.is_some());
    let color = matches!(manner(terminal), ohmward::render::Manner::Drawn { color: true, .. });
    CompareHuman { width: width(terminal), color: color && !wants_words() }
}

/// Tells why a design cannot be compared, as a check does.
fn refused(arguments: &Arguments, judgements: Vec<Judgement>) -> Result<Outcome, String> {
    let terminal = is_terminal(arguments.output.is_some());
    let output: Box<dyn Output> = match arguments.form {
        Form::Json => Box::new(Json),
        Form::Human | Form::Markdown => Box::new(Human { manner: manner(terminal), width: width(terminal) }),
    };
    let mut tally = Tally::default();
    Sink::whole(arguments.output.as_deref(), |out| {
        output.begin(out)?;
        let mut any = false;
        for mut judgement in judgements {
            if judgement.library && judgement.findings.is_empty() && judgement.unreadable.is_none() {
                judgement.unreadable = Some("it is a library: it has no wiring to compare".into());
            }
            let one = Tally::of(&judgement);
            if one.unjudged() {
                out.write_all(if any { output.separator().as_bytes() } else { b"" })?;
                output.design(&judgement, out)?;
                any = true;
                tally.add(one);
            }
        }
        output.end(&tally, out)
    })?;
    Ok(Outcome::Unjudged)
}
