//! `ohmward tidy`: lays files out in the one standard form, several at a time, and tells of them in a fixed order.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};

use ohmward::check::Judgement;
use ohmward::render::{Lines, Output};
use ohmward::text::{FileId, Sources};
use ohmward::tidy::{Change, Tidied, Untidied, tidy};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::disk::{Disk, Start};
use super::failsafe::{guarded, keep_panics};
use super::find::{Found, find};
use super::output::Sink;
use super::{Outcome, complain, unjudged};

/// Files that are held for each thread before they are told of in order.
const HELD: usize = 16;
/// Room for the calls of deeply nested kits.
const STACK: usize = 16 << 20;
/// Longest line that is shown.
const SHOWN: usize = 160;

/// Lays designs and libraries out in the one standard form
///
/// Only space moves: no word, no comment and no order changes, and that the file says the same is proven before it is
/// replaced. Exit code 0: nothing to do, or done. 1: --check found a file that would change. 2: a file that cannot be
/// read or written, or with language errors; it is left as it is, and the others are done.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Files, folders that are searched for *.loom, or - for standard input to standard output; without any, the
    /// current folder
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Changes nothing, and tells which files would change
    #[arg(long)]
    check: bool,

    /// The folder that `use` may reach [default: the current folder, or a design's own where it lies elsewhere]
    #[arg(long, value_name = "DIR", value_parser = super::folder)]
    root: Option<PathBuf>,

    /// How many files are laid out at a time [default: four times as many as there are processors: each waits for the
    /// disk until it has taken the file]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    jobs: Option<u16>,
}

/// What came of one file.
struct Done {
    /// For standard output.
    out: String,
    /// What stands in the way, for standard error.
    err: String,
    /// It would change, and was only looked at.
    untidy: bool,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    let input = arguments.paths.iter().any(|path| path == Path::new("-"));
    if input && arguments.paths.len() > 1 {
        return unjudged("- stands alone: what is read from standard input goes to standard output");
    }
    let threads = arguments.jobs.map_or_else(threads, usize::from);
    let pool = match rayon::ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK).build() {
        Ok(pool) => pool,
        Err(error) => return unjudged(&format!("threads cannot be started: {error}")),
    };
    keep_panics();
    let (found, problems) = find(&arguments.paths);
    for problem in &problems {
        complain(problem);
    }
    let mut outcome = if problems.is_empty() { Outcome::Passed } else { Outcome::Unjudged };
    let mut sink = Sink::standard();
    let mut found = once_each(found).into_iter().peekable();
    while found.peek().is_some() {
        let held: Vec<Found> = found.by_ref().take(HELD * pool.current_num_threads()).collect();
        let done: Vec<Done> =
            pool.install(|| held.into_par_iter().map(|one| lay_out(arguments, one)).collect());
        for one in done {
            if let Err(error) = sink.write_all(one.out.as_bytes()) {
                return unjudged(&sink.failed(&error));
            }
            drop(std::io::stderr().lock().write_all(one.err.as_bytes()));
            outcome = match outcome {
                _ if !one.err.is_empty() => Outcome::Unjudged,
                Outcome::Passed if one.untidy => Outcome::Failed,
                before => before,
            };
        }
    }
    match sink.finish() {
        Ok(()) => outcome,
        Err(text) => unjudged(&text),
    }
}

/// A file that is replaced is waited for until the disk has it, and meanwhile others can be laid out.
fn threads() -> usize {
    4 * std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// The files without those that a link leads to a second time.
fn once_each(mut found: Vec<Found>) -> Vec<Found> {
    let mut seen = BTreeSet::new();
    found.retain(|one| match &one.start {
        Start::File(path) => match std::fs::canonicalize(path) {
            Ok(real) => seen.insert(real),
            Err(_) => true,
        },
        Start::Bytes(_) => true,
    });
    found
}

fn lay_out(arguments: &Arguments, found: Found) -> Done {
    let shown = found.shown;
    let path = match &found.start {
        Start::File(path) => Some(path.clone()),
        Start::Bytes(_) => None,
    };
    let disk = Disk::new(&shown, found.start, arguments.root.as_deref());
    let (out, err, untidy) = match guarded(|| tidy(&shown, &disk)) {
        Ok(Ok(tidied)) => match (path, tidied.first_change()) {
            (_, Some(change)) if arguments.check => {
                (would_change(&shown, &tidied, change), String::new(), true)
            }
            (None, _) if !arguments.check => (tidied.after, String::new(), false),
            (Some(path), Some(_)) => match replace(&path, &tidied.after) {
                Ok(()) => (format!("{shown}: tidied\n"), String::new(), false),
                Err(why) => (String::new(), format!("error: {why}\n"), false),
            },
            _ => (String::new(), String::new(), false),
        },
        Ok(Err(why)) => (String::new(), left(&shown, why), false),
        Err(fault) => (String::new(), left(&shown, Untidied::Unreadable(fault)), false),
    };
    Done { out, err, untidy }
}

/// The whole new text beside the file, then in its place: at any moment the file is the old one or the new one.
fn replace(path: &Path, text: &str) -> Result<(), String> {
    Sink::whole(Some(path), |out| out.write_all(text.as_bytes()))
}

fn would_change(shown: &str, tidied: &Tidied, change: Change<'_>) -> String {
    if change.n_lines == 0 {
        let what = match (tidied.before.starts_with('\u{feff}'), tidied.before.contains('\r')) {
            (true, _) => "only the byte order mark, blank lines or line ends",
            (false, true) => "only blank lines or line ends",
            (false, false) => "only blank lines, or the end of the last line",
        };
        return format!("{shown}: would change: {what}\n");
    }
    let more = match change.n_lines {
        1 => String::new(),
        2 => ", and 1 more line".into(),
        n_lines => format!(", and {} more lines", n_lines - 1),
    };
    let (before, after) = (visible(change.before), visible(change.after));
    format!("{shown}:{}: would change{more}\n  is:       {before}\n  is to be: {after}\n", change.line)
}

/// A line with its tabs and trailing blanks to be seen, and not too long.
fn visible(line: &str) -> String {
    let trimmed = line.trim_end_matches([' ', '\t']);
    let trailing = line.len() - trimmed.len();
    let mut shown: String = line.chars().take(SHOWN).collect();
    if shown.len() < line.len() {
        shown.push('…');
    } else if 0 < trailing {
        shown.truncate(trimmed.len());
        shown.extend(std::iter::repeat_n('·', trailing));
    }
    shown.replace('\t', "→").replace('\u{feff}', "<byte order mark>")
}

/// Why a file is left as it is, as a check tells it.
fn left(shown: &str, why: Untidied) -> String {
    let (sources, findings, unreadable, last) = match why {
        Untidied::Unreadable(why) => (Sources::default(), Vec::new(), Some(why), None),
        Untidied::Differs(why) => {
            let why = format!("left as it is: in the standard form it would not say the same: {why}");
            (Sources::default(), Vec::new(), Some(why), None)
        }
        Untidied::Language(sources, mut findings) => {
            let own = |finding: &ohmward::findings::Finding| finding.span.file == FileId(0);
            let last = match findings.iter().any(own) {
                true => {
                    findings.retain(own);
                    "left as it is: what is not in the language cannot be laid out"
                }
                // The library tells the rest when its own turn comes.
                false => {
                    findings.truncate(1);
                    "left as it is: a library that it uses is not in the language"
                }
            };
            (sources, findings, None, Some(last))
        }
    };
    let failed = Judgement::failed(shown, String::new());
    let judgement = Judgement { sources, findings, unreadable, ..failed };
    let mut told = Vec::new();
    drop(Lines.design(&judgement, &mut told));
    let mut told = String::from_utf8_lossy(&told).into_owned();
    if let Some(last) = last {
        told += &format!("{shown}: {last}\n");
    }
    told
}
