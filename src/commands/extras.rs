//! `ohmward extras`: completions for shells and manual pages, for who packages ohmward.

use std::fs;
use std::path::{Path, PathBuf};

use clap::{CommandFactory, ValueEnum};
use clap_complete::Shell;

use super::disk::shown_path;
use super::output::worded;
use super::{Arguments as Whole, Outcome, note, unjudged};

/// Writes completions for shells and manual pages to a folder
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The folder; `completions` and `man` are made in it
    #[arg(short, long = "output", value_name = "DIR")]
    output: PathBuf,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    match write(&arguments.output) {
        Ok(count) => {
            note(&format!("{count} files in {}", shown_path(&arguments.output)));
            Outcome::Passed
        }
        Err((path, error)) => {
            unjudged(&format!("{} cannot be written: {}", shown_path(&path), worded(&error)))
        }
    }
}

/// Writes everything, and tells how many files it was.
fn write(folder: &Path) -> Result<usize, (PathBuf, std::io::Error)> {
    let made = |name: &str| {
        let path = folder.join(name);
        fs::create_dir_all(&path).map(|()| path.clone()).map_err(|error| (path, error))
    };
    let (completions, man) = (made("completions")?, made("man")?);
    for shell in Shell::value_variants() {
        clap_complete::generate_to(*shell, &mut Whole::command(), "ohmward", &completions)
            .map_err(|error| (completions.clone(), error))?;
    }
    clap_mangen::generate_to(Whole::command(), &man).map_err(|error| (man.clone(), error))?;
    let count = |path: &Path| fs::read_dir(path).map_or(0, Iterator::count);
    Ok(count(&completions) + count(&man))
}
