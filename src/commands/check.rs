//! `ohmward check`: judges designs, several at a time, and tells of them in a fixed order.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::ValueEnum;
use ohmward::check::{Judgement, Options, Shared, check_among};
use ohmward::design::Date;
use ohmward::findings::Severity;
use ohmward::render::{Asked, Human, JUnit, Json, Lines, Output, Published, Sarif, Tally, is_library};
use ohmward::syntax::words::{RULE_IDS, is_house_rule};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use rayon::{ThreadPool, ThreadPoolBuildError, ThreadPoolBuilder};

use super::cache::Cache;
use super::disk::{Disk, Shelf, Start, shown_path};
use super::failsafe::{guarded, keep_panics};
use super::find::{Found, find};
use super::given::{Among, Given};
use super::join::join;
use super::known::{Known, Seen};
use super::names::nearest;
use super::output::{Sink, followed};
use super::progress::Progress;
use super::share::Share;
use super::terminal::{is_terminal, manner, width};
use super::{Outcome, complain, note, today, unjudged};

/// Designs that are held for each thread before they are written in order: few beside what one of them takes while it is
/// judged, and so many that waiting for the last of them is nothing.
const HELD: usize = 256;
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

    /// Findings that are known already, from --write-known: they are counted, and do not fail
    #[arg(long, value_name = "FILE")]
    known: Option<PathBuf>,

    /// Writes the findings of this run to a list for --known, and takes them as known
    ///
    /// What the list has of designs and rules that are not judged in this run stays.
    #[arg(long, value_name = "FILE")]
    write_known: Option<PathBuf>,

    /// Judges one of several shares of the designs, as in 3/8
    #[arg(long, value_name = "N/M", value_parser = Share::parse)]
    share: Option<Share>,

    /// Joins the JSON documents of several runs, which are the paths then [as: json by default]
    #[arg(
        long,
        requires = "paths",
        conflicts_with_all = [
            "explain_all", "only", "without", "book", "root", "today", "jobs", "known", "write_known", "share",
            "cache",
        ]
    )]
    join: bool,

    /// Keeps judgements in this folder, and takes them from there while nothing that they were made from has changed
    ///
    /// What is told is the same with it and without. The folder may be deleted at any time, and several runs may use it.
    #[arg(long, value_name = "DIR")]
    cache: Option<PathBuf>,

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
    /// SARIF 2.1.0, for services that show findings beside the text
    Sarif,
    /// JUnit XML: a suite for each design, a case for each finding
    Junit,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Level {
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
    /// The least severity that reaches it; `None` where none does.
    pub(super) fn severity(self) -> Option<Severity> {
        match self {
            Self::Error => Some(Severity::Error),
            Self::Warning => Some(Severity::Warning),
            Self::Advice => Some(Severity::Advice),
            Self::Never => None,
        }
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

pub(super) fn date(text: &str) -> Result<Date, String> {
    Date::parse(text).ok_or_else(|| "a day is written as in 2027-03-31".into())
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    if arguments.join {
        return run_join(arguments);
    }
    let (target, writes) = (arguments.output.as_deref(), arguments.write_known.as_deref());
    let opened = Shelf::beside(&[("-o", target), ("--write-known", writes)]).and_then(|shelf| {
        if let Some(cache) = &arguments.cache
            && let Some(inside) = target.into_iter().chain(writes).find(|file| Cache::holds(cache, file))
        {
            let (inside, cache) = (shown_path(inside), shown_path(cache));
            return Err(format!(
                "{inside} is not written: it lies in the cache {cache}, which is for judgements"
            ));
        }
        let sink = target.map_or_else(|| Ok(Sink::standard()), Sink::file)?;
        if let Some(known) = &arguments.known
            && writes.is_none_or(|writes| followed(writes) != followed(known))
        {
            shelf.replaced.met(known);
            shelf.replaced.spares()?;
        }
        let known = Known::read(arguments.known.as_deref(), writes)?;
        let list = known.sink()?;
        Ok((shelf, sink, known, list))
    });
    let (shelf, sink, known, list) = match opened {
        Ok(opened) => opened,
        Err(text) => return unjudged(&text),
    };
    keep_panics();
    let given = match Given::open(arguments.book.as_deref(), &shelf) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let (mut found, problems) = find(&arguments.paths);
    if found.iter().any(|one| one.shown == "-") {
        shelf.replaced.met(Path::new("-"));
    }
    for problem in &problems {
        complain(problem);
    }
    let mut tally = Tally { problems, ..Tally::default() };
    if let Some(share) = arguments.share {
        let (taken, entry) = share.take(found, asked(arguments, given.as_ref(), &known));
        (found, tally.share) = (taken, Some(entry));
    }
    let pool = match pool(arguments, found.len()) {
        Ok(pool) => pool,
        Err(error) => return unjudged(&format!("threads cannot be started: {error}")),
    };
    let output = output(arguments, known.any());
    let run = Run {
        options: options(arguments),
        root: arguments.root.clone(),
        output,
        known,
        cache: arguments.cache.as_deref().and_then(Cache::open),
        shared: Shared::default(),
        given,
        shelf,
    };
    let written = run.write(found, tally, &pool, sink);
    if let Some(cache) = &run.cache {
        cache.close();
    }
    match written {
        Ok((tally, seen)) => match run.known.write(seen, &run.options, list) {
            Ok(()) => outcome(&tally, arguments.fail_at),
            Err(text) => unjudged(&format!("{text}; what was told as known is on no list")),
        },
        Err(text) => unjudged(&text),
    }
}

/// As many threads as were asked for, or as there are processors, and no more than designs.
fn pool(arguments: &Arguments, n_designs: usize) -> Result<ThreadPool, ThreadPoolBuildError> {
    let processors = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = arguments.jobs.map_or_else(processors, usize::from);
    ThreadPoolBuilder::new().num_threads(threads.clamp(1, n_designs.max(1))).stack_size(STACK).build()
}

fn run_join(arguments: &Arguments) -> Outcome {
    let form = arguments.form.unwrap_or(Form::Json);
    let Some(published) = published(form, arguments.fail_at) else {
        return unjudged(
            "--join has not the designs' own text, which human shows: choose lines, json, sarif or junit",
        );
    };
    match join(&arguments.paths, arguments.output.as_deref(), published) {
        Ok(tally) => outcome(&tally, arguments.fail_at),
        Err(wrong) => {
            for text in &wrong {
                complain(text);
            }
            Outcome::Unjudged
        }
    }
}

fn outcome(tally: &Tally, fail_at: Level) -> Outcome {
    match tally.exit_code(fail_at.severity()) {
        0 => Outcome::Passed,
        1 => Outcome::Failed,
        _ => Outcome::Unjudged,
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

/// What all shares of one run have in common.
fn asked(arguments: &Arguments, given: Option<&Given>, known: &Known) -> Asked {
    let text = given.map(|given| given.text().map_or_else(|why| why, |text| text.digest().to_string()));
    Asked {
        book: text.or_else(|| arguments.book.clone()),
        only: arguments.only.iter().cloned().collect(),
        without: arguments.without.iter().cloned().collect(),
        today: arguments.today.map(|today| today.to_string()),
        known: known.digest().map(|digest| digest.to_string()),
        explain_all: arguments.explain_all,
        root: arguments.root.as_deref().map(shown_path),
    }
}

fn output(arguments: &Arguments, baseline: bool) -> Box<dyn Output> {
    let terminal = is_terminal(arguments.output.is_some());
    let form = arguments.form.unwrap_or(if terminal { Form::Human } else { Form::Lines });
    match published(form, arguments.fail_at) {
        Some(published) => published(baseline),
        None => Box::new(Human { manner: manner(terminal), width: width(terminal) }),
    }
}

/// The form, where it needs no text of designs; made with whether there is a list of known findings.
fn published(form: Form, fail_at: Level) -> Option<impl FnOnce(bool) -> Box<dyn Published>> {
    (form != Form::Human).then_some(move |baseline| -> Box<dyn Published> {
        match form {
            Form::Json => Box::new(Json),
            Form::Sarif => Box::new(Sarif { fail_at: fail_at.severity(), baseline }),
            Form::Junit => Box::new(JUnit),
            Form::Lines | Form::Human => Box::new(Lines),
        }
    })
}

/// What is the same for every design of a run.
struct Run {
    options: Options,
    root: Option<PathBuf>,
    output: Box<dyn Output>,
    known: Known,
    cache: Option<Cache>,
    shared: Shared,
    given: Option<Given>,
    shelf: Arc<Shelf>,
}

/// One design's output, ready to be written in its turn.
struct Written {
    text: io::Result<Vec<u8>>,
    tally: Tally,
    seen: Seen,
}

impl Run {
    fn write(
        &self,
        found: Vec<Found>,
        tally: Tally,
        pool: &ThreadPool,
        mut sink: Sink,
    ) -> Result<(Tally, Vec<Seen>), String> {
        match self.write_all(found, tally, pool, &mut sink) {
            Ok(done) => self.shelf.replaced.spares().and_then(|()| sink.finish()).map(|()| done),
            Err(error) => Err(sink.failed(&error)),
        }
    }

    fn write_all(
        &self,
        found: Vec<Found>,
        mut tally: Tally,
        pool: &ThreadPool,
        sink: &mut Sink,
    ) -> io::Result<(Tally, Vec<Seen>)> {
        let (mut any, mut seen) = (false, Vec::new());
        let progress = Progress::of(found.len());
        self.output.begin(sink)?;
        let mut found = found.into_iter().peekable();
        while found.peek().is_some() {
            let held: Vec<Found> = found.by_ref().take(HELD * pool.current_num_threads()).collect();
            let written: Vec<Written> =
                pool.install(|| held.into_par_iter().map(|one| self.judge(one)).collect());
            progress.past(written.len(), || {
                for one in written {
                    tally.add(one.tally);
                    seen.push(one.seen);
                    let text = one.text?;
                    if !text.is_empty() {
                        sink.write_all(if any { self.output.separator().as_bytes() } else { b"" })?;
                        sink.write_all(&text)?;
                        any = true;
                    }
                }
                Ok(())
            })?;
        }
        drop(progress);
        self.known.stale(&seen, &mut tally);
        if let Some(share) = &tally.share {
            let (said, n_found) = (share.said(), share.found);
            let designs =
                if tally.designs == 1 { "1 design".into() } else { format!("{} designs", tally.designs) };
            note(&format!("share {said}: {designs} judged, of {n_found} files found"));
        }
        self.output.end(&tally, sink)?;
        Ok((tally, seen))
    }

    fn judge(&self, found: Found) -> Written {
        let Found { shown, start, .. } = found;
        let disk = Disk::among(&self.shelf, &shown, start.clone(), self.root.as_deref());
        let files = Among { given: self.given.as_ref(), design: &shown, files: &disk };
        let judgement = || match &self.cache {
            Some(cache) => cache.judgement(&self.shared, &shown, &files, &self.options),
            None => check_among(&self.shared, &shown, &files, &self.options),
        };
        let done = guarded(|| self.told(judgement(), &start));
        done.unwrap_or_else(|fault| self.told(Judgement::failed(&shown, fault), &start))
    }

    fn told(&self, mut judgement: Judgement, start: &Start) -> Written {
        let seen = self.known.mark(&mut judgement, start, &self.options);
        let mut text = Vec::new();
        let done = if is_library(&judgement) { Ok(()) } else { self.output.design(&judgement, &mut text) };
        Written { text: done.map(|()| text), tally: Tally::of(&judgement), seen }
    }
}
