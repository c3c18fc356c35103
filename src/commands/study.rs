//! `ohmward study`: what flows in each mode of a design, and what a fault draws.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use ohmward::check::{Studied, StudyOptions};
use ohmward::design::Design;
use ohmward::render::{Human, Json, Output, StudyHuman, StudyJson, StudyReport, Tally};
use ohmward::study::{Conditions, EVERYTHING, FaultFigures, Figures, netlist};
use ohmward::text::nearest;

use super::disk::{Disk, Shelf};
use super::failsafe::{guarded, keep_panics};
use super::given::{Among, Given};
use super::output::Sink;
use super::terminal::{is_terminal, manner, wants_words, width};
use super::{Outcome, unjudged};

/// Computes what flows in each mode, and what a fault draws
///
/// Exit code 0: every mode has a solution. 1: a mode has none; the others are told all the same. 2: the design cannot be
/// studied (a file that cannot be read, text that is not in the language, an unknown name, wrong arguments).
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The design, or - for standard input
    #[arg(value_name = "FILE")]
    path: PathBuf,

    /// Only this mode
    #[arg(long, value_name = "NAME")]
    mode: Option<String>,

    /// What a fault draws at this terminal, bar, post or chassis; may be repeated
    #[arg(long, value_name = "NODE")]
    fault: Vec<String>,

    /// What follows when one connection of the return opens: each wire, bolt, mounting, switch, plug and bond of it in turn
    #[arg(long)]
    failures: bool,

    /// Conductors at operating temperature, joints with contact resistance; so it is without --cold
    #[arg(long, conflicts_with = "cold")]
    hot: bool,

    /// Conductors at 20 C, joints without contact resistance
    #[arg(long)]
    cold: bool,

    /// How figures are told
    #[arg(long = "as", value_name = "FORM", default_value = "human")]
    form: Form,

    /// Writes the circuit of one mode as a SPICE netlist to this file, or to standard output for -
    #[arg(long, value_name = "FILE")]
    spice: Option<PathBuf>,

    /// The book to take figures from, in place of the one that the design names
    #[arg(long, value_name = "NAME")]
    book: Option<String>,

    /// The folder that `use` may reach [default: the current folder, or the design's own where it lies elsewhere]
    #[arg(long, value_name = "DIR", value_parser = super::folder)]
    root: Option<PathBuf>,

    /// Writes to this file, which is replaced whole at the end, or not at all
    #[arg(short, long = "output", value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// Tables
    Human,
    /// One JSON document
    Json,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    let outputs = [("-o", arguments.output.as_deref()), ("--spice", arguments.spice.as_deref())];
    let shelf = match Shelf::beside(&outputs) {
        Ok(shelf) => shelf,
        Err(text) => return unjudged(&text),
    };
    let given = match Given::open(arguments.book.as_deref(), &shelf) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let (shown, start) = shelf.start(&arguments.path);
    let disk = Disk::among(&shelf, &shown, start, arguments.root.as_deref());
    let files = Among { given: given.as_ref(), design: &shown, files: &disk };
    let options = StudyOptions {
        book: arguments.book.clone(),
        mode: arguments.mode.clone(),
        conditions: arguments.cold.then_some(Conditions::COLD),
        failures: arguments.failures,
    };
    keep_panics();
    match guarded(|| ohmward::check::study(&shown, &files, &options)) {
        Ok(studied) => {
            let told = shelf.replaced.spares().and_then(|()| tell(arguments, &shown, &studied));
            told.unwrap_or_else(|text| unjudged(&text))
        }
        Err(fault) => unjudged(&fault),
    }
}

fn tell(arguments: &Arguments, shown: &str, studied: &Studied) -> Result<Outcome, String> {
    let (Some(design), Some(figures), true) =
        (&studied.design, &studied.figures, studied.problems.is_empty() && studied.unreadable.is_none())
    else {
        return refused(arguments, shown, studied);
    };
    known_mode(design, arguments.mode.as_deref())?;
    let mut figures = figures.clone();
    if !arguments.fault.is_empty() {
        let wanted: Result<Vec<FaultFigures>, String> =
            arguments.fault.iter().map(|name| fault_at(design, &figures, name)).collect();
        figures.faults = wanted?;
    }
    let spice = arguments.spice.as_deref();
    if let Some(path) = spice {
        write_netlist(path, design, studied)?;
    }
    if spice != Some(Path::new("-")) {
        let report = StudyReport {
            path: shown,
            design: &design.name,
            title: &design.title,
            book: &studied.book,
            figures: &figures,
        };
        Sink::whole(arguments.output.as_deref(), |out| match arguments.form {
            Form::Json => StudyJson.write(&report, out),
            Form::Human => human(arguments).write(&report, out),
        })?;
    }
    let solved = figures.modes.iter().all(|mode| mode.unsolved.is_none());
    Ok(if solved { Outcome::Passed } else { Outcome::Failed })
}

/// Tables; sentences where the environment asks for no graphics.
fn human(arguments: &Arguments) -> StudyHuman {
    let terminal = is_terminal(arguments.output.is_some());
    let (one_mode, some_faults) = (arguments.mode.is_some(), !arguments.fault.is_empty());
    StudyHuman {
        told: wants_words(),
        width: width(terminal),
        modes: !arguments.failures && (one_mode || !some_faults),
        faults: some_faults || !(one_mode || arguments.failures),
    }
}

/// Tells why the design cannot be studied, as a check does.
fn refused(arguments: &Arguments, shown: &str, studied: &Studied) -> Result<Outcome, String> {
    let terminal = is_terminal(arguments.output.is_some());
    let mut judgement = studied.judgement(shown);
    if judgement.findings.is_empty() && judgement.unreadable.is_none() {
        judgement.unreadable = Some("it is a library: it has no circuit to study".into());
    }
    let output: Box<dyn Output> = match arguments.form {
        Form::Json => Box::new(Json),
        Form::Human => {
            let manner = manner(terminal);
            Box::new(Human { manner, width: width(terminal) })
        }
    };
    Sink::whole(arguments.output.as_deref(), |out| {
        output.begin(out)?;
        output.design(&judgement, out)?;
        output.end(&Tally::of(&judgement), out)
    })?;
    Ok(Outcome::Unjudged)
}

/// Whether the design has this mode.
fn known_mode(design: &Design, wanted: Option<&str>) -> Result<(), String> {
    let Some(wanted) = wanted else { return Ok(()) };
    let names = || design.modes.iter().map(|mode| mode.name.as_str());
    if design.modes.is_empty() {
        return match wanted {
            EVERYTHING => Ok(()),
            _ => Err(format!("the design has no modes: leave out --mode {wanted}, and everything is on")),
        };
    }
    if names().any(|name| name == wanted) {
        return Ok(());
    }
    Err(match nearest(wanted, names()) {
        Some(near) => format!("there is no mode {wanted}; the nearest is {near}"),
        None => format!("there is no mode {wanted}; there are {}", names().collect::<Vec<_>>().join(", ")),
    })
}

/// What a fault draws at a terminal; a stud of a bar is the bar.
fn fault_at(design: &Design, figures: &Figures, wanted: &str) -> Result<FaultFigures, String> {
    let names: Vec<String> = design.terminals.ids().map(|id| design.terminal_name(id)).collect();
    let stud = wanted.rsplit_once('.').filter(|row| row.1.bytes().all(|one| one.is_ascii_digit()));
    let bar = stud.map(|row| row.0).filter(|bar| names.iter().any(|name| name == bar));
    let name = bar.unwrap_or(wanted);
    if !names.iter().any(|one| one == name) {
        return Err(match nearest(wanted, names.iter().map(String::as_str)) {
            Some(near) => format!("there is no terminal {wanted}; the nearest is {near}"),
            None => format!(
                "there is no terminal {wanted}; one is written as in {}",
                names.first().map_or("house.+", String::as_str)
            ),
        });
    }
    let found = figures.faults.iter().find(|fault| fault.terminal == name).cloned();
    Ok(found.unwrap_or(FaultFigures {
        terminal: name.into(),
        largest: None,
        smallest: None,
        opens: Vec::new(),
    }))
}

fn write_netlist(path: &Path, design: &Design, studied: &Studied) -> Result<(), String> {
    let Some(study) = &studied.study else { return Ok(()) };
    let mode = match study.modes.as_slice() {
        [mode] => mode,
        several => {
            let names: Vec<&str> = several.iter().map(|mode| mode.name.as_str()).collect();
            return Err(format!("a netlist is of one mode: say which by --mode: {}", names.join(", ")));
        }
    };
    let text = netlist(design, study, mode)
        .ok_or_else(|| format!("mode {} has no solution, and so no netlist", mode.name))?;
    Sink::whole(Some(path), |out| out.write_all(text.as_bytes()))
}
