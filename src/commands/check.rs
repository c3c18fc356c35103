//! `ohmward check`: judges designs, several at a time, and tells of them in a fixed order.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::ValueEnum;
use ohmward::check::{Judgement, Options};
use ohmward::design::Date;
use ohmward::findings::Severity;
use ohmward::render::{Human, Json, Lines, Output, Tally, is_library};
use ohmward::syntax::words::{RULE_IDS, is_house_rule};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::disk::Disk;
use super::failsafe::{guarded, keep_panics};
use super::find::{Found, find};
use super::names::nearest;
use super::output::Sink;
use super::terminal::{is_terminal, manner, width};
use super::{Outcome, complain, today, unjudged};

/// Designs that are held for each thread before they are written in order.
const HELD: usize = 16;
/// Room for the calls of deeply nested kits.
pub(super) const STACK: usize = 16 << 20;

/// Judges designs
///
/// Exit code 0: nothing at or above the failing level. 1: at least one such finding. 2: something could not be judged
/// (a file that cannot be read, text that is not in the language, wrong arguments); what could be judged is still
/// told.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Designs, folders that are searched for *.loom, or - for standard input; without any, the current folder
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// How findings are told [default: human on a terminal, otherwise lines]
    #[arg(long = "as", value_name = "FORM")]
    form: Option<Form>,

    /// Tells the evidence for every wire, in human and json: its ampacity, what can flow, what protects it
    #[arg(long)]
    explain_all: bool,

    /// From which severity on a finding makes the exit code 1
    #[arg(long, value_name = "LEVEL", default_value = "error")]
    fail_at: Level,

    /// Judges by this rule alone; may be repeated
    #[arg(long, value_name = "RULE", value_parser = rule)]
    only: Vec<String>,

    /// Leaves this rule out; may be repeated
    #[arg(long, value_name = "RULE", value_parser = rule)]
    without: Vec<String>,

    /// The book to judge by, in place of the one that a design names
    #[arg(long, value_name = "NAME")]
    book: Option<String>,

    /// The folder that `use` may reach [default: the current folder, or a design's own where it lies elsewhere]
    #[arg(long, value_name = "DIR", value_parser = super::folder)]
    root: Option<PathBuf>,

    /// The day on which waivers are judged [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    today: Option<Date>,

    /// How many designs are judged at a time [default: as many as there are processors]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    jobs: Option<u16>,

    /// Writes to this file, which is replaced whole at the end, or not at all
    #[arg(short, long = "output", value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// With the source and labels in it
    Human,
    /// One finding a line
    Lines,
    /// One JSON document
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Level {
    /// Only errors
    Error,
    /// Errors and warnings
    Warning,
    /// Any finding
    Advice,
    /// No finding at all
    Never,
}

impl Level {
    fn reached(self, tally: &Tally) -> bool {
        let severity = match self {
            Self::Error => Severity::Error,
            Self::Warning => Severity::Warning,
            Self::Advice => Severity::Advice,
            Self::Never => return false,
        };
        0 < tally.at_least(severity)
    }
}

fn rule(id: &str) -> Result<String, String> {
    if RULE_IDS.contains(&id) || is_house_rule(id) {
        return Ok(id.into());
    }
    Err(match nearest(id, RULE_IDS).first() {
        Some(known) => format!("there is no such rule; the nearest is {known}"),
        None => "there is no such rule".into(),
    })
}

fn date(text: &str) -> Result<Date, String> {
    Date::parse(text).ok_or_else(|| "a day is written as in 2027-03-31".into())
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    let threads = usize::from(arguments.jobs.unwrap_or(0));
    let pool = match rayon::ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK).build() {
        Ok(pool) => pool,
        Err(error) => return unjudged(&format!("threads cannot be started: {error}")),
    };
    let sink = match &arguments.output {
        Some(path) => Sink::file(path),
        None => Ok(Sink::standard()),
    };
    let sink = match sink {
        Ok(sink) => sink,
        Err(text) => return unjudged(&text),
    };
    keep_panics();
    let (found, problems) = find(&arguments.paths);
    for problem in &problems {
        complain(problem);
    }
    let run = Run { options: options(arguments), root: arguments.root.clone(), output: output(arguments) };
    match run.write(found, &pool, sink) {
        Ok(tally) if tally.unjudged() || !problems.is_empty() => Outcome::Unjudged,
        Ok(tally) if arguments.fail_at.reached(&tally) => Outcome::Failed,
        Ok(_) => Outcome::Passed,
        Err(text) => unjudged(&text),
    }
}

fn options(arguments: &Arguments) -> Options {
    Options {
        book: arguments.book.clone(),
        only: arguments.only.clone(),
        without: arguments.without.clone(),
        explain: arguments.explain_all,
        ..Options::on(arguments.today.unwrap_or_else(today))
    }
}

fn output(arguments: &Arguments) -> Box<dyn Output> {
    let terminal = is_terminal(arguments.output.is_some());
    match arguments.form {
        Some(Form::Json) => Box::new(Json),
        Some(Form::Lines) => Box::new(Lines),
        None if !terminal => Box::new(Lines),
        Some(Form::Human) | None => Box::new(Human { manner: manner(terminal), width: width(terminal) }),
    }
}

/// What is the same for every design of a run.
struct Run {
    options: Options,
    root: Option<PathBuf>,
    output: Box<dyn Output>,
}

/// One design's output, ready to be written in its turn.
struct Written {
    text: io::Result<Vec<u8>>,
    tally: Tally,
    shown: bool,
}

impl Run {
    fn write(&self, found: Vec<Found>, pool: &rayon::ThreadPool, mut sink: Sink) -> Result<Tally, String> {
        match self.write_all(found, pool, &mut sink) {
            Ok(tally) => sink.finish().map(|()| tally),
            Err(error) => Err(sink.failed(&error)),
        }
    }

    fn write_all(&self, found: Vec<Found>, pool: &rayon::ThreadPool, sink: &mut Sink) -> io::Result<Tally> {
        let (mut tally, mut any) = (Tally::default(), false);
        self.output.begin(sink)?;
        let mut found = found.into_iter().peekable();
        while found.peek().is_some() {
            let held: Vec<Found> = found.by_ref().take(HELD * pool.current_num_threads()).collect();
            let written: Vec<Written> =
                pool.install(|| held.into_par_iter().map(|one| self.judge(one)).collect());
            for one in written {
                tally.add(one.tally);
                if one.shown {
                    sink.write_all(if any { self.output.separator().as_bytes() } else { b"" })?;
                    sink.write_all(&one.text?)?;
                    any = true;
                }
            }
        }
        self.output.end(&tally, sink)?;
        Ok(tally)
    }

    fn judge(&self, found: Found) -> Written {
        let shown = found.shown;
        let disk = Disk::new(&shown, found.start, self.root.as_deref());
        let done = guarded(|| self.told(&ohmward::check::check(&shown, &disk, &self.options)));
        done.unwrap_or_else(|fault| self.told(&Judgement::failed(&shown, fault)))
    }

    fn told(&self, judgement: &Judgement) -> Written {
        let mut text = Vec::new();
        let shown = !is_library(judgement);
        let done = if shown { self.output.design(judgement, &mut text) } else { Ok(()) };
        Written { text: done.map(|()| text), tally: Tally::of(judgement), shown }
    }
}
