//! What the commands that show a page have in common: forms, where it goes, and books by name or path.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::ValueEnum;
use ohmward::book::Book;
use ohmward::check::open_book;
use ohmward::render::{Document, Human, Output};

use super::disk::{Disk, Shelf, Start, shown_path};
use super::names::nearest;
use super::output::Sink;
use super::terminal::{is_terminal, manner, page_look, width};
use super::{Outcome, complain, unjudged};

/// How and where a page is written.
#[derive(Debug, clap::Args)]
pub(super) struct Shape {
    /// The form of the page
    #[arg(long = "as", value_name = "FORM", default_value = "human")]
    form: Form,

    /// Writes to this file, which is replaced whole at the end, or not at all
    #[arg(short, long = "output", value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// For a terminal, or plain text
    Human,
    /// One JSON document
    Json,
    /// Markdown
    Markdown,
}

impl Shape {
    /// A shelf that knows what is written.
    pub(super) fn shelf(&self) -> Result<Arc<Shelf>, Outcome> {
        Shelf::beside(&[("-o", self.output.as_deref())]).map_err(|text| unjudged(&text))
    }
}

/// Writes a page in the form that is asked for.
pub(super) fn show(document: &Document, shape: &Shape, shelf: &Shelf) -> Outcome {
    let text = match shape.form {
        Form::Human => document.page.shown(page_look(is_terminal(shape.output.is_some()))),
        Form::Json => document.json.clone(),
        Form::Markdown => document.page.markdown(1),
    };
    let output = shape.output.as_deref();
    let written =
        shelf.replaced.spares().and_then(|()| Sink::whole(output, |out| out.write_all(text.as_bytes())));
    written.map_or_else(|why| unjudged(&why), |()| Outcome::Passed)
}

/// A book that ships, or one of the user's own by its path; what is wrong with it is told.
pub(super) fn book(name: &str, shelf: &Arc<Shelf>) -> Result<Book, Outcome> {
    if let Some(book) = Book::shipped(name) {
        return Ok(book);
    }
    let path = Path::new(name);
    if !path.exists() && !name.ends_with(".toml") && path.components().count() < 2 {
        let near = nearest(name, &Book::shipped_names());
        let all = Book::shipped_names().join(", ");
        let near = near.first().map_or_else(String::new, |near| format!("; the nearest is {near}"));
        complain(&format!(
            "there is no book {name}{near}; those that ship are: {all}; a book of your own is named by its path"
        ));
        return Err(Outcome::Unjudged);
    }
    let shown = shown_path(path);
    let disk = Disk::among(shelf, &shown, Start::File(path.to_owned()), None);
    open_book(&shown, &disk).map_err(|judgement| {
        match &judgement.unreadable {
            Some(why) => complain(&format!("{shown} cannot be read: {why}")),
            None => {
                let terminal = std::io::stderr().is_terminal();
                let human = Human { manner: manner(terminal), width: width(terminal) };
                // Where that fails there is nobody left to tell.
                drop(human.design(&judgement, &mut std::io::stderr().lock()));
            }
        }
        Outcome::Unjudged
    })
}
