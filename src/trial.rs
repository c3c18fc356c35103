//! A book's own rules, tried on the designs that it gives as examples.

use crate::book::{Book, Example, HouseRule, Unread};
use crate::check::{self, Options};
use crate::design::Date;
use crate::findings::Finding;
use crate::text::{FileId, Files, MemoryFiles, Source, Sources, Span};

/// What the examples of one rule came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// The rule's id.
    pub rule: String,
    /// The book's file, as it is shown, and the line of what is told.
    pub place: (String, u32),
    /// How it went.
    pub outcome: Outcome,
}

/// How a trial went.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Each example did what it should.
    Passed {
        /// What the rule says of the example that fails.
        says: String,
    },
    /// An example did not: which, and what it did.
    Failed(String),
    /// The rule, or an example, could not be judged.
    Unjudged(String),
}

/// A book with all its trials.
#[derive(Debug, Clone)]
pub struct Tried {
    /// The book's title; none where the book could not be read.
    pub title: Option<String>,
    /// One for each rule, and for what is wrong with rules or book, in order of place.
    pub trials: Vec<Trial>,
}

/// Tries a book that ships, by its name, or one by its path.
#[must_use]
pub fn try_book(name: &str, files: &dyn Files, today: Date) -> Tried {
    let mut sources = Sources::default();
    let book = match Book::shipped(name) {
        Some(book) => {
            let text = Book::shipped_text(name).unwrap_or_default();
            sources.add(Source::new(format!("rules/{name}.toml"), text));
            Ok(book)
        }
        None => Book::read(name, name, files, &mut sources),
    };
    let wrong = |rule: &str, problem: &Finding| Trial {
        rule: rule.into(),
        place: place(&sources, problem.span),
        outcome: Outcome::Unjudged(format!("{}; {}", problem.headline, problem.help)),
    };
    match book {
        Ok(book) => {
            let broken = book.house_problems().iter().map(|(rule, problem)| wrong(rule, problem));
            let tried = book.house_rules().iter().map(|rule| trial(&book, rule, &sources, today));
            let mut trials: Vec<Trial> = broken.chain(tried).collect();
            trials.sort_by(|a, b| a.place.cmp(&b.place));
            Tried { title: Some(book.title().into()), trials }
        }
        Err(Unread::Missing(why)) => {
            let shipped = Book::shipped_names().join(", ");
            let why = format!("the book cannot be read: {why}; name one that ships ({shipped}), or a path");
            let outcome = Outcome::Unjudged(why);
            Tried {
                title: None,
                trials: vec![Trial { rule: String::new(), place: (name.into(), 1), outcome }],
            }
        }
        Err(Unread::Wrong(problems)) => {
            Tried { title: None, trials: problems.iter().map(|problem| wrong("", problem)).collect() }
        }
    }
}

fn place(sources: &Sources, span: Span) -> (String, u32) {
    let source = sources.get(span.file);
    (source.path().into(), source.line_column(span.start).line)
}

fn trial(book: &Book, rule: &HouseRule, sources: &Sources, today: Date) -> Trial {
    let of =
        |span: Span, outcome: Outcome| Trial { rule: rule.id.clone(), place: place(sources, span), outcome };
    let says = match judged(book, rule, &rule.fails, today) {
        Err(why) => return of(rule.fails.span, Outcome::Unjudged(format!("`fails` {why}"))),
        Ok(found) => found.into_iter().next().map(|finding| finding.headline),
    };
    let Some(says) = says else {
        let why = "`fails` does not break the rule; change it, or the rule, so that it does";
        return of(rule.fails.span, Outcome::Failed(why.into()));
    };
    match judged(book, rule, &rule.passes, today) {
        Err(why) => of(rule.passes.span, Outcome::Unjudged(format!("`passes` {why}"))),
        Ok(found) => match found.first() {
            Some(finding) => {
                let why = format!("`passes` breaks the rule: {}", finding.headline);
                of(rule.passes.span, Outcome::Failed(why))
            }
            None => of(rule.demand_span(), Outcome::Passed { says }),
        },
    }
}

/// The findings of one rule on an example.
fn judged(book: &Book, rule: &HouseRule, example: &Example, today: Date) -> Result<Vec<Finding>, String> {
    const PATH: &str = "example.loom";
    let (text, added) = example.design();
    let files = MemoryFiles::default().with(PATH, text);
    let needed = ["unknown.rating".to_owned(), rule.id.clone()];
    let options = Options { only: needed.into(), ..Options::on(today) };
    let judgement = check::check_by(book, PATH, &files, &options);
    if let Some(problem) = judgement.findings.iter().find(|finding| finding.rule.starts_with("language.")) {
        let line = match problem.span.file == FileId(0) {
            true => judgement.sources.get(problem.span.file).line_column(problem.span.start).line,
            false => 0,
        };
        let line = if line <= added { String::new() } else { format!(" in its line {}", line - added) };
        let says = if problem.headline.is_empty() { &problem.label } else { &problem.headline };
        return Err(format!("cannot be judged{line}: {says}; {}", problem.help));
    }
    // An example that leaves open what its rule needs shows nothing.
    let open = judgement.findings.iter().find(|finding| finding.rule == "unknown.rating");
    let figures = open.map_or(&[][..], |open| &open.figures);
    let needs = figures.iter().filter(|figure| figure.meaning.contains(rule.id.as_str()));
    let needs: Vec<&str> = needs.map(|figure| figure.value.as_str()).collect();
    let mut findings = judgement.findings.clone();
    findings.retain(|finding| finding.rule == rule.id);
    match findings.is_empty() && !needs.is_empty() {
        true => Err(format!("leaves open what the rule needs: {}", needs.join(", "))),
        false => Ok(findings),
    }
}
