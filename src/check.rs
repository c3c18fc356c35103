//! The facade: one design in, one judgement out. Reads through [`Files`], prints nothing.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::book::{Book, Books, HouseRule, Unread, is_house_rule};
use crate::circuit::Circuit;
use crate::design::{self, Before, Date, Design, Libraries, LoadOptions, Loaded, Memory};
use crate::findings::{Finding, Severity, Waived};
use crate::rules::{self, Context};
use crate::study::{self, Depth, FailureFigures, Failures, Faults, Figures, Study};
use crate::text::{FileId, Files, Sources, Span};
use crate::units::{Current, Length};

/// The book of a design that names none.
pub const DEFAULT_BOOK: &str = "common-practice";

/// What a check is asked for.
#[derive(Debug, Clone)]
pub struct Options {
    /// Replaces the book that designs name.
    pub book: Option<String>,
    /// Only these rules; empty for all.
    pub only: Vec<String>,
    /// Not these rules.
    pub without: Vec<String>,
    /// The day on which waivers are judged.
    pub today: Date,
    /// Not the rules that read what flows in the modes, so that no mode is solved.
    pub without_study: bool,
    /// Collect the evidence of every wire.
    pub explain: bool,
    /// Most elements that one design may grow to by its kits.
    pub most_elements: usize,
}

impl Options {
    /// The usual ones, on a day.
    #[must_use]
    pub fn on(today: Date) -> Self {
        Self {
            book: None,
            only: Vec::new(),
            without: Vec::new(),
            without_study: false,
            today,
            explain: false,
            most_elements: 1_000_000,
        }
    }
}

/// What came of one design.
#[derive(Debug, Clone)]
pub struct Judgement {
    /// The design's path as it is shown.
    pub path: String,
    /// The design's name, where it could be read.
    pub design: Option<String>,
    /// The book's name.
    pub book: String,
    /// The texts that findings point into.
    pub sources: Sources,
    /// Findings in order of file, place and rule; waived ones included.
    pub findings: Vec<Finding>,
    /// The evidence of every wire, where it was asked for.
    pub wires: Option<Vec<WireEvidence>>,
    /// The book's own rules.
    pub house: Vec<Arc<HouseRule>>,
    /// How many elements the design has (components, wires, bolts, data leads).
    pub n_elements: usize,
    /// Why the design's own file could not be read at all.
    pub unreadable: Option<String>,
    /// The file is a library: nothing to judge, and no fault.
    pub library: bool,
    /// The last days of the design's waivers, on which the judgement may change.
    pub waived_until: Vec<Date>,
}

/// What the designs of one run have in common: libraries and books, which are read once. May be shared by threads.
#[derive(Debug, Default)]
pub struct Shared {
    libraries: Libraries,
    pub(crate) books: Books,
}

impl Judgement {
    /// Of a design that could not be judged at all, and why.
    #[must_use]
    pub fn failed(path: &str, why: String) -> Self {
        Self {
            path: path.into(),
            design: None,
            book: String::new(),
            sources: Sources::default(),
            findings: Vec::new(),
            wires: None,
            house: Vec::new(),
            n_elements: 0,
            unreadable: Some(why),
            library: false,
            waived_until: Vec::new(),
        }
    }
}

/// A flow that may be absent or without limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Flow {
    /// Nothing flows.
    None,
    /// At most this.
    Limited(Current),
    /// No protective device and no source's own limit bounds it.
    Unlimited,
}

/// What a wire is in its circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Role {
    /// In the live graph.
    Live,
    /// Marked as a bond.
    Bond,
    /// In the return graph.
    Return,
    /// Neither.
    Other,
}

impl Role {
    /// Its word in the JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Live => "live",
            Self::Bond => "bond",
            Self::Return => "return",
            Self::Other => "other",
        }
    }
}

/// Why a wire is right, or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WireEvidence {
    /// The wire's full name.
    pub name: String,
    /// Its own ampacity, all `count` conductors together.
    pub ampacity: Current,
    /// What made the ampacity: a figure and what it is, in order of use.
    pub ampacity_from: Vec<(f64, String)>,
    /// What can arrive at it (its share of it beside parallel wires).
    pub let_through: Flow,
    /// What can circulate through it; `None` where it is in a loop of plain metal.
    pub circulation: Option<Flow>,
    /// Its role.
    pub role: Role,
    /// The unprotected stretch that it is on, the worst of several.
    pub stretch: Option<StretchEvidence>,
    /// Names in the minimum cut of its let-through.
    pub protected_by: Vec<String>,
    /// Permitted current over what can flow, where that is finite and above zero.
    pub margin: Option<f64>,
}

/// A wire's unprotected stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StretchEvidence {
    /// The source's name.
    pub source: String,
    /// From the source's terminal to the wire's far end.
    pub length: Length,
    /// The book's limit for how it is run.
    pub limit: Length,
    /// Whether a protective device follows.
    pub followed: bool,
    /// The sum of the ratings of the devices that follow.
    pub devices: Current,
}

/// Judges one design. Whatever is wrong with it is in the judgement; nothing is printed and nothing fails.
#[must_use]
pub fn check(path: &str, files: &dyn Files, options: &Options) -> Judgement {
    check_design(path, files, options).0
}

/// The same among other designs of a run: what they share is read once.
#[must_use]
pub fn check_among(shared: &Shared, path: &str, files: &dyn Files, options: &Options) -> Judgement {
    checked(BookFrom::Shared(&shared.books), path, files, options, Before::Libraries(&shared.libraries)).0
}

/// The same of a design that was judged before, with the design: lines that `memory` has from then are not read again.
#[must_use]
pub fn check_again(
    path: &str,
    files: &dyn Files,
    options: &Options,
    memory: &mut Memory,
) -> (Judgement, Option<Design>) {
    checked(BookFrom::Files, path, files, options, Before::Lines(memory))
}

/// The same, with the design itself where it has one that could be resolved.
#[must_use]
pub fn check_design(path: &str, files: &dyn Files, options: &Options) -> (Judgement, Option<Design>) {
    checked(BookFrom::Files, path, files, options, Before::Nothing)
}

/// The same by a book that is at hand, whatever the design names.
#[must_use]
pub fn check_by(book: &Book, path: &str, files: &dyn Files, options: &Options) -> Judgement {
    checked(BookFrom::Hand(book), path, files, options, Before::Nothing).0
}

/// Where a book comes from that does not ship.
#[derive(Clone, Copy)]
enum BookFrom<'b> {
    /// The files around the design.
    Files,
    /// The same, once for many designs.
    Shared(&'b Books),
    /// It is this one, whatever the design names.
    Hand(&'b Book),
}

fn checked(
    from: BookFrom<'_>,
    path: &str,
    files: &dyn Files,
    options: &Options,
    before: Before<'_>,
) -> (Judgement, Option<Design>) {
    let load = LoadOptions { most_elements: options.most_elements };
    let loaded = design::load_again(path, files, &load, before);
    let Loaded { mut sources, design, name, book, problems, library, unreadable } = loaded;
    let named = options.book.clone().or_else(|| book.as_ref().map(|book| book.0.clone()));
    let named = named.unwrap_or_else(|| DEFAULT_BOOK.into());
    let mut judgement = Judgement {
        path: path.into(),
        design: name,
        book: named.clone(),
        sources: Sources::default(),
        findings: problems,
        wires: None,
        house: Vec::new(),
        n_elements: 0,
        unreadable,
        library,
        waived_until: Vec::new(),
    };
    if let Some(design) = &design {
        judgement.waived_until = design.waivers.iter().map(|waiver| waiver.until).collect();
        judgement.n_elements =
            design.components.len() + design.wires.len() + design.data.len() + design.joints.len();
        let span = book.filter(|_| options.book.is_none()).map(|book| book.1);
        match read_book(from, &named, path, files, &mut sources, span, design) {
            Ok(book) => {
                judgement.book = book.name().into();
                let (findings, wires) = judge(design, &book, options, &sources);
                judgement.findings.extend(findings);
                judgement.wires = wires;
                judgement.house = book.house_rules().to_vec();
            }
            Err(problems) => judgement.findings.extend(problems),
        }
    }
    judgement.findings.sort_by(|a, b| (a.span, &a.rule, &a.subject).cmp(&(b.span, &b.rule, &b.subject)));
    judgement.sources = sources;
    (judgement, design)
}

/// What is studied.
#[derive(Debug, Clone, Default)]
pub struct StudyOptions {
    /// Replaces the book that the design names.
    pub book: Option<String>,
    /// Only the mode of this name.
    pub mode: Option<String>,
    /// Conditions of conductors and joints; the book's operating ones if none.
    pub conditions: Option<study::Conditions>,
    /// Open each connection of the return in turn.
    pub failures: bool,
}

/// What came of a study.
#[derive(Debug, Clone)]
pub struct Studied {
    /// The texts that problems point into.
    pub sources: Sources,
    /// What is wrong with the language of the design or of its book; then there are no figures.
    pub problems: Vec<Finding>,
    /// The design.
    pub design: Option<Design>,
    /// The book's name.
    pub book: String,
    /// The solved circuit.
    pub study: Option<Study>,
    /// What faults draw, by terminal.
    pub faults: Option<Faults>,
    /// What follows when one connection of the return opens, where that was asked for.
    pub failures: Option<Failures>,
    /// Its figures, by name.
    pub figures: Option<Figures>,
    /// Why the design's own file could not be read at all.
    pub unreadable: Option<String>,
}

impl Studied {
    /// What is wrong with the language, as a check tells it.
    #[must_use]
    pub fn judgement(&self, path: &str) -> Judgement {
        Judgement {
            path: path.into(),
            design: self.design.as_ref().map(|design| design.name.clone()),
            book: self.book.clone(),
            sources: self.sources.clone(),
            findings: self.problems.clone(),
            wires: None,
            house: Vec::new(),
            n_elements: 0,
            unreadable: self.unreadable.clone(),
            library: false,
            waived_until: Vec::new(),
        }
    }
}

/// A resolved design with its book, read as a circuit: for whoever asks more than one thing of it.
pub struct Wired<'d> {
    circuit: Circuit<'d>,
}

impl<'d> Wired<'d> {
    /// Reads the circuit of a design.
    #[must_use]
    pub fn new(design: &'d Design, book: &'d Book) -> Self {
        Self { circuit: Circuit::new(design, book) }
    }

    /// Solves all modes, or the one of this name, under the book's operating conditions or others.
    #[must_use]
    pub fn study(&self, mode: Option<&str>, conditions: Option<study::Conditions>) -> Study {
        Study::new(&self.circuit, mode, conditions)
    }

    /// What a bolted fault draws at every terminal.
    #[must_use]
    pub fn faults(&self) -> Faults {
        Faults::new(&self.circuit)
    }
}

/// Studies one design. Whatever is wrong with it is in the result; nothing is printed and nothing fails.
#[must_use]
pub fn study(path: &str, files: &dyn Files, options: &StudyOptions) -> Studied {
    let most_elements = Options::on(Date::from_days(0)).most_elements;
    let loaded = design::load(path, files, &LoadOptions { most_elements });
    let Loaded { mut sources, design, book, problems, unreadable, .. } = loaded;
    let named = options.book.clone().or_else(|| book.as_ref().map(|book| book.0.clone()));
    let named = named.unwrap_or_else(|| DEFAULT_BOOK.into());
    let span = book.filter(|_| options.book.is_none()).map(|book| book.1);
    let mut studied = Studied {
        sources,
        problems,
        design,
        book: named.clone(),
        study: None,
        faults: None,
        failures: None,
        figures: None,
        unreadable,
    };
    sources = std::mem::take(&mut studied.sources);
    if let Some(design) = &studied.design {
        match read_book(BookFrom::Files, &named, path, files, &mut sources, span, design) {
            Ok(book) => {
                studied.book = book.name().into();
                let wired = Wired::new(design, &book);
                let study = wired.study(options.mode.as_deref(), options.conditions);
                let faults = wired.faults();
                let mut figures = Figures::new(&wired.circuit, &study, &faults);
                if options.failures {
                    let failures = Failures::new(&wired.circuit, &study, Depth::All);
                    figures.failures = Some(FailureFigures::new(&wired.circuit, &study, &failures));
                    studied.failures = Some(failures);
                }
                studied.figures = Some(figures);
                (studied.study, studied.faults) = (Some(study), Some(faults));
            }
            Err(problems) => studied.problems.extend(problems),
        }
    }
    studied.sources = sources;
    studied
}

/// The figures of one design, whatever the rules say of them.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The design.
    pub design: Design,
    /// The book, with the design's changes.
    pub book: Book,
    /// Why each wire is right, or not.
    pub wires: Vec<WireEvidence>,
    /// What flows in each mode and into faults; `None` where a fault was set aside, as what flows then is another design's.
    pub figures: Option<Figures>,
}

/// The figures of a design that was read before; `None` where its language or its book has errors.
#[must_use]
pub fn facts(path: &str, files: &dyn Files, memory: &mut Memory) -> Option<Facts> {
    let options = Options::on(Date::from_days(0));
    let load = LoadOptions { most_elements: options.most_elements };
    let Loaded { mut sources, design, book, .. } =
        design::load_again(path, files, &load, Before::Lines(memory));
    let design = design?;
    let named = book.map_or_else(|| DEFAULT_BOOK.into(), |book| book.0);
    let book = read_book(BookFrom::Files, &named, path, files, &mut sources, None, &design).ok()?;
    let circuit = Circuit::new(&design, &book);
    let (study, house) = (std::cell::OnceCell::new(), std::cell::OnceCell::new());
    let wires = rules::evidence(&Context {
        design: &design,
        book: &book,
        circuit: &circuit,
        whole: None,
        today: options.today,
        study: Some(&study),
        faults: None,
        house: &house,
    });
    let figures = circuit
        .faults
        .is_empty()
        .then(|| Figures::new(&circuit, &Study::new(&circuit, None, None), &Faults::new(&circuit)));
    drop(circuit);
    Some(Facts { design, book, wires, figures })
}

/// The book by its name among those that ship, or by a path beside the design.
fn read_book(
    from: BookFrom<'_>,
    name: &str,
    path: &str,
    files: &dyn Files,
    sources: &mut Sources,
    span: Option<Span>,
    design: &Design,
) -> Result<Book, Vec<Finding>> {
    let books = match from {
        BookFrom::Hand(book) => return book.with_changes(&design.limits),
        BookFrom::Files => None,
        BookFrom::Shared(books) => Some(books),
    };
    let book = match Book::shipped(name) {
        Some(book) => book,
        None => own_book(books, name, path, files, sources, span, design)?,
    };
    book.with_changes(&design.limits)
}

fn own_book(
    books: Option<&Books>,
    name: &str,
    path: &str,
    files: &dyn Files,
    sources: &mut Sources,
    span: Option<Span>,
    design: &Design,
) -> Result<Book, Vec<Finding>> {
    let located = files.locate(path, name).map_err(|error| Unread::Missing(error.to_string()));
    let read = |located: String| match books {
        Some(books) => books.read(name, &located, files, sources),
        None => Book::read(name, &located, files, sources),
    };
    match located.and_then(read) {
        Ok(book) => Ok(book),
        Err(Unread::Wrong(problems)) => Err(problems),
        Err(Unread::Missing(why)) => {
            let span = span.or(design.name_span).unwrap_or(Span::new(FileId(0), 0, 0));
            let shipped = Book::shipped_names().join(", ");
            Err(vec![
                Finding::new("language.use", Severity::Error, name, span)
                    .headline(format!("the book {name} cannot be read: {why}"))
                    .label("named here")
                    .help(format!(
                        "name a book that ships ({shipped}), or the path of a book beside the design"
                    )),
            ])
        }
    }
}

/// A book by its path.
///
/// # Errors
/// A judgement of the book's own file, with everything that is wrong with it.
pub fn open_book(path: &str, files: &dyn Files) -> Result<Book, Box<Judgement>> {
    let mut sources = Sources::default();
    let (findings, unreadable) = match Book::read(path, path, files, &mut sources) {
        Ok(book) => return Ok(book),
        Err(Unread::Wrong(findings)) => (findings, None),
        Err(Unread::Missing(why)) => (Vec::new(), Some(why)),
    };
    let failed = Judgement::failed(path, String::new());
    Err(Box::new(Judgement { book: path.into(), sources, findings, unreadable, ..failed }))
}

/// Judges a resolved design by a book.
fn judge(
    design: &Design,
    book: &Book,
    options: &Options,
    sources: &Sources,
) -> (Vec<Finding>, Option<Vec<WireEvidence>>) {
    let circuit = Circuit::new(design, book);
    let whole = (!circuit.faults.is_empty()).then(|| Circuit::whole(design, book));
    let house = std::cell::OnceCell::new();
    let study = std::cell::OnceCell::new();
    let faults = std::cell::OnceCell::new();
    let cx = Context {
        design,
        book,
        circuit: &circuit,
        whole: whole.as_ref(),
        today: options.today,
        study: circuit.faults.is_empty().then_some(&study),
        faults: circuit.faults.is_empty().then_some(&faults),
        house: &house,
    };
    let wanted = |id: &str| {
        let named = |list: &[String]| list.iter().any(|rule| rule == id);
        let later = options.without_study && rules::find(id).is_some_and(|rule| rule.studies);
        (options.only.is_empty() || named(&options.only)) && !named(&options.without) && !later
    };
    let mut findings = rules::judge(&cx, &wanted);
    debug_assert!(
        !options.without_study || study.get().is_none(),
        "a rule that reads the study does not say so"
    );
    let missing = options.only.iter().filter(|id| is_house_rule(id) && !book.knows_house_rule(id));
    findings.extend(missing.map(|id| no_such_rule(&cx, id)));
    // A statement without a name is told by its line, in waivers too.
    for finding in findings.iter_mut().filter(|finding| finding.subject.is_empty()) {
        let line = sources.get(finding.span.file).line_column(finding.span.start).line;
        finding.subject = format!("line:{line}");
    }
    waive(&cx, &wanted, options.book.is_some(), &mut findings);
    let wires = options.explain.then(|| rules::evidence(&cx));
    (findings, wires)
}

/// A rule of a book's own was asked for that this book does not have.
fn no_such_rule(cx: &Context<'_>, id: &str) -> Finding {
    let (design, book) = (cx.design, cx.book);
    let span = design.name_span.unwrap_or(Span::new(design.file.unwrap_or(FileId(0)), 0, 0));
    let own: Vec<&str> = book.house_rules().iter().map(|rule| rule.id.as_str()).collect();
    let help = match own.is_empty() {
        true => {
            "the book has no rules of its own: name one that has, by `book` in the design or by --book".into()
        }
        false => format!("its own rules are {}", own.join(", ")),
    };
    Finding::new("language.use", Severity::Error, design.name.as_str(), span)
        .headline(format!("the book {} has no rule {id}", book.name()))
        .label("judged by that book")
        .help(help)
}

/// Accepts what waivers cover, and adds those that cover nothing; a rule that only the design's own book has is none of
/// a book that was `replaced`.
fn waive(cx: &Context<'_>, wanted: &dyn Fn(&str) -> bool, replaced: bool, findings: &mut Vec<Finding>) {
    let mut unused = Vec::new();
    for waiver in &cx.design.waivers {
        if waiver.until < cx.today {
            continue;
        }
        let mut used = false;
        for finding in findings.iter_mut() {
            if finding.rule == waiver.rule && finding.subject == waiver.subject {
                used = true;
                finding.waived = Some(Waived { why: waiver.why.clone(), until: waiver.until.to_string() });
            }
        }
        // A rule that was not judged in this run may well have found something.
        let rule = waiver.rule.as_str();
        let known = match is_house_rule(rule) {
            true => cx.book.house_rule(rule).is_some() || !(replaced || cx.book.knows_house_rule(rule)),
            false => rules::find(rule).is_some(),
        };
        let judged = known && wanted(rule) && cx.book.rule(rule).applies;
        if !used && judged {
            unused.push(rules::unused_waiver(cx, waiver));
        }
    }
    if wanted("waiver.unused") && cx.book.rule("waiver.unused").applies {
        findings.extend(unused);
    }
}
