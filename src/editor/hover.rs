//! What is known of the word at a place: what a name stands for, with its ratings and computed figures, or what a word of
//! the language means.

use std::fmt::Write as _;

use lsp_types::{Hover, HoverContents, HoverParams, MarkupContent, MarkupKind};

use crate::book::{Book, Limit};
use crate::check::{Facts, Flow, WireEvidence};
use crate::design::{NameClass, Named, Outline};
use crate::rules::find;
use crate::study::{DeviceFigures, Does, Group, ModeFigures};
use crate::syntax::items::ItemKind;
use crate::syntax::words::{self, Form};
use crate::text::FileId;
use crate::units::three_figures;

use super::later::Answer;
use super::lines::{Line, start};
use super::navigate::used;
use super::server::Server;

/// Most instances of what stands in a kit that are told.
const MOST_FITTED: usize = 4;
/// Most modes that are told of one element.
const MOST_MODES: usize = 12;

/// What is said of a place: the design whose figures it needs, and how it is said with them.
pub(super) fn hover(server: &mut Server, params: &HoverParams) -> Option<(String, Answer)> {
    let at = &params.text_document_position_params;
    let (path, outline, offset) = server.place(&at.text_document.uri, at.position);
    let text = server.text(&outline, FileId(0));
    if let Some(used) = used(&outline, offset) {
        let named = outline.names.get(used.name)?.clone();
        let range = text.range(used.terminal.map_or(used.span, |terminal| used.span.to(terminal)));
        let head = of_name(&outline, &named);
        let terminal = used.terminal.map(|span| outline.sources.slice(span).to_owned());
        let design = server.design_of(&path, outline.library);
        return Some((
            design,
            Box::new(move |facts| {
                let mut said = head;
                match facts {
                    Some(facts) => figures(&named, terminal.as_deref(), facts, &mut said),
                    None if needs_figures(named.class) => {
                        said += "\n\nFigures are computed once the design has no mistake in its language.";
                    }
                    None => {}
                }
                told(said, range)
            }),
        ));
    }
    let (said, start, end) = of_word(&text.text, offset as usize)?;
    let range = lsp_types::Range { start: text.position(start), end: text.position(end) };
    let word = text.text.get(start..end).unwrap_or("").to_owned();
    Some((
        path,
        Box::new(move |facts| {
            let mut said = said;
            if let Some(limit) = Limit::all().find(|limit| limit.name() == word)
                && let Some(facts) = facts
            {
                said += &of_limit(&facts.book, limit);
            }
            told(said, range)
        }),
    ))
}

fn told(said: String, range: lsp_types::Range) -> serde_json::Value {
    let contents = HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value: said });
    serde_json::to_value(Hover { contents, range: Some(range) }).unwrap_or_default()
}

fn needs_figures(class: NameClass) -> bool {
    matches!(class, NameClass::Component | NameClass::Wire | NameClass::Mode)
}

/// A name: what it is, its own line, and that of its part or kit.
fn of_name(outline: &Outline, named: &Named) -> String {
    let what = match (named.class, named.words) {
        (NameClass::Part, Some(words)) => format!("part, {}", words.doc),
        (_, Some(words)) => words.doc.to_owned(),
        (NameClass::Parameter, None) => {
            format!("parameter of the kit, {}", named.title.as_deref().unwrap_or("a value"))
        }
        (class, _) => class_word(class).to_owned(),
    };
    let mut said = format!("**{}**: {what}", named.name);
    if let Some(title) = named.title.as_ref().filter(|_| named.class != NameClass::Parameter) {
        let _ = write!(said, ", “{}”", escaped(title));
    }
    code(outline, named, &mut said);
    if let Some(of) = named.of.and_then(|of| outline.names.get(of)) {
        let _ = write!(said, "\n\nfrom {}:", outline.sources.get(of.span.file).path());
        code(outline, of, &mut said);
    }
    said
}

fn code(outline: &Outline, named: &Named, said: &mut String) {
    const MOST_LINES: usize = 12;
    let source = outline.sources.get(named.whole.file);
    let whole = source.slice(named.whole);
    let mut lines = whole.lines();
    let shown: Vec<&str> = lines.by_ref().take(MOST_LINES).collect();
    let more = if lines.next().is_some() { "\n…" } else { "" };
    let _ = write!(said, "\n\n```loom\n{}{more}\n```", shown.join("\n"));
}

fn class_word(class: NameClass) -> &'static str {
    match class {
        NameClass::Head => "the design or library",
        NameClass::Component => "a component",
        NameClass::Wire => "a wire",
        NameClass::Data => "a data lead",
        NameClass::Bundle => "a bundle of wires",
        NameClass::Zone => "a zone",
        NameClass::Mode => "a mode",
        NameClass::Part => "a part",
        NameClass::Kit => "a kit",
        NameClass::Fit => "a fitted kit",
        NameClass::Parameter => "a parameter",
        NameClass::Unknown => "declared by a line that cannot be read",
    }
}

fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for one in text.chars() {
        if matches!(one, '\\' | '`' | '*' | '_' | '<' | '>' | '[' | ']' | '#' | '|') {
            safe.push('\\');
        }
        safe.push(one);
    }
    safe
}

/// Adds what is computed for a name; of what stands in a kit, for each place where that is fitted.
fn figures(named: &Named, terminal: Option<&str>, facts: &Facts, said: &mut String) {
    let is_it = |span: crate::text::Span, name: &str| {
        (span.start, span.end) == (named.span.start, named.span.end)
            && name.rsplit('/').next() == Some(&*named.name)
    };
    let design = &facts.design;
    let names: Vec<&str> = match named.class {
        NameClass::Wire => {
            let all = design.wires.ids().map(|id| &design.wires[id]);
            all.filter(|wire| is_it(wire.place.span, &wire.name)).map(|wire| &*wire.name).collect()
        }
        NameClass::Component => {
            let all = design.components.ids().map(|id| &design.components[id]);
            all.filter(|one| is_it(one.place.span, &one.name)).map(|one| &*one.name).collect()
        }
        NameClass::Mode => return mode(named, facts, said),
        _ => return,
    };
    for name in names.iter().take(MOST_FITTED) {
        if *name != named.name {
            let _ = write!(said, "\n\n*{name}*");
        }
        match named.class {
            NameClass::Wire => wire(name, facts, said),
            _ => component(name, terminal, facts, said),
        }
    }
    if MOST_FITTED < names.len() {
        let _ = write!(said, "\n\nand {} more", names.len() - MOST_FITTED);
    }
}

fn wire(name: &str, facts: &Facts, said: &mut String) {
    let Some(evidence) = facts.wires.iter().find(|row| row.name == name) else { return };
    let _ = write!(said, "\n\n- ampacity **{}**", evidence.ampacity);
    // The first is what the table has, and the others are factors to it.
    let steps = evidence.ampacity_from.iter().enumerate().map(|(at, (figure, what))| match at {
        0 => format!("{} A for {what}", three_figures(*figure)),
        _ => format!("times {} for {what}", three_figures(*figure)),
    });
    let steps: Vec<String> = steps.collect();
    if !steps.is_empty() {
        let _ = write!(said, ": {}", steps.join(", "));
    }
    let _ = write!(said, "\n- role: {}", evidence.role.word());
    flows(evidence, said);
    if !evidence.protected_by.is_empty() {
        let _ = write!(said, "\n- protected by {}", evidence.protected_by.join(", "));
    }
    if let Some(stretch) = &evidence.stretch {
        let after = if stretch.followed { "followed by a device" } else { "followed by no device" };
        let _ = write!(
            said,
            "\n- on an unprotected stretch from {}: {} of the {} that the book permits, {after}",
            stretch.source, stretch.length, stretch.limit
        );
    }
    if let Some(margin) = evidence.margin {
        let _ = write!(said, "\n- margin {} (permitted over what can flow)", three_figures(margin));
    }
    let of = |mode: &ModeFigures| {
        let row = mode.wires.iter().find(|row| row.name == name)?;
        let (current, drop) = row.flow?;
        Some(format!("carries {current}, drop {drop}"))
    };
    modes(facts, of, said);
}

fn flows(evidence: &WireEvidence, said: &mut String) {
    let told = |flow: Flow| match flow {
        Flow::None => "nothing".to_owned(),
        Flow::Limited(current) => current.to_string(),
        Flow::Unlimited => "no limit".to_owned(),
    };
    match evidence.role {
        crate::check::Role::Live => {
            let _ = write!(said, "\n- let-through: {}", told(evidence.let_through));
        }
        _ => {
            let circulates = evidence.circulation.map_or_else(|| "shared in a loop".to_owned(), told);
            let _ = write!(said, "\n- circulation: {circulates}");
        }
    }
}

fn component(name: &str, terminal: Option<&str>, facts: &Facts, said: &mut String) {
    let design = &facts.design;
    let found = design.components.ids().map(|id| &design.components[id]).find(|one| one.name == name);
    let Some(component) = found else { return };
    if let Some(zone) = component.zone {
        let zone = &design.zones[zone];
        let _ = write!(said, "\n\n- in zone {}, {}", zone.name, zone.ambient);
    }
    let Some(figures) = &facts.figures else { return };
    let own = |row: &&crate::study::FaultFigures| {
        let rest = row.terminal.strip_prefix(name).filter(|rest| rest.is_empty() || rest.starts_with('.'));
        rest.is_some_and(|rest| terminal.is_none_or(|one| rest.is_empty() || rest.get(1..) == Some(one)))
    };
    for fault in figures.faults.iter().filter(own) {
        if let Some(largest) = fault.largest {
            let _ = write!(said, "\n- prospective current at {}: {largest}", fault.terminal);
            if let Some(smallest) = fault.smallest {
                let _ = write!(said, " at most, {smallest} at least");
            }
        }
    }
    let of = |mode: &ModeFigures| {
        if let Some(reads) = mode.meters.iter().find(|row| row.0 == name) {
            return Some(format!("reads {}", reads.1));
        }
        let Some(device) = mode.devices.iter().find(|row| row.name == name) else {
            let node = mode.nodes.iter().find(|row| row.0 == name)?;
            return Some(format!("at {}", node.1));
        };
        let mut said = match device.does {
            Does::Nothing => return Some("off or open".into()),
            Does::Unfed => return Some("no source reaches it".into()),
            Does::Unstated => return Some("a figure that it needs is not stated".into()),
            _ => flows_in(device),
        };
        if let Some(voltage) = device.flow.voltage {
            let _ = write!(said, " at {voltage}");
        }
        if let Some((drop, share)) = device.drop {
            let _ = write!(said, ", drop {drop} ({share})");
        }
        Some(said)
    };
    modes(facts, of, said);
}

/// What a device takes or gives; the sign of a battery's current is told in words.
fn flows_in(device: &DeviceFigures) -> String {
    let current = device.flow.current.to_string();
    match (device.group, current.strip_prefix('-')) {
        (Group::Battery | Group::Taker, Some(given)) => format!("gives {given}"),
        (Group::Battery | Group::Taker, None) => format!("takes {current}"),
        _ => current,
    }
}

fn modes(facts: &Facts, of: impl Fn(&ModeFigures) -> Option<String>, said: &mut String) {
    let Some(figures) = &facts.figures else { return };
    for mode in figures.modes.iter().take(MOST_MODES) {
        if let Some(text) = of(mode) {
            let _ = write!(said, "\n- {}: {text}", in_mode(mode));
        }
    }
}

/// A design without modes is studied with everything on.
fn in_mode(mode: &ModeFigures) -> String {
    match mode.name.as_str() {
        crate::study::EVERYTHING => "with everything on".into(),
        name => format!("in mode {name}"),
    }
}

fn mode(named: &Named, facts: &Facts, said: &mut String) {
    let Some(figures) = &facts.figures else { return };
    let Some(mode) = figures.modes.iter().find(|mode| mode.name == named.name) else { return };
    if mode.unsolved.is_some() {
        *said += "\n\nThe mode has no solution.";
        return;
    }
    for (name, reads) in mode.meters.iter().take(MOST_MODES) {
        let _ = write!(said, "\n- {name} reads {reads}");
    }
}

/// What a word of the language means where it stands, and where it starts and ends.
fn of_word(text: &str, offset: usize) -> Option<(String, usize, usize)> {
    let line = Line::around(text, offset);
    let at = line.at(offset)?;
    let item = line.items.get(at)?;
    let (from, to) = (item.span.start as usize, item.span.end as usize);
    let word = line.slice(*item);
    if item.kind != ItemKind::Word {
        return None;
    }
    let said = if line.is_unit(at) {
        unit(word)
    } else {
        first(&line, at, word, in_block(text, from))
            .or_else(|| property(line.word(0), &line, word))
            .or_else(|| setting(&line, word))
            .or_else(|| rule(word))
            .or_else(|| limit(word))
            .or_else(|| book(line.word(0), word))
    }?;
    Some((said, from, to))
}

/// Whether the line at a byte stands in the block of a mode or a part, where it begins with a name.
fn in_block(text: &str, offset: usize) -> bool {
    let before = text.get(..start(text, offset)).unwrap_or("");
    for line in before.lines().rev() {
        let line = line.trim();
        if line.starts_with('}') {
            return false;
        }
        if line.ends_with('{') {
            return line.starts_with("mode") || line.starts_with("part");
        }
    }
    false
}

fn first(line: &Line<'_>, at: usize, word: &str, in_block: bool) -> Option<String> {
    if at == 0 && !in_block {
        if let Some(row) = words::STATEMENTS.iter().find(|row| row.word == word) {
            return Some(format!("`{}`\n\n{}", row.form, row.doc));
        }
        return words::KINDS.iter().find(|row| row.word == word).map(kind);
    }
    // The kind of a part.
    (line.word(0) == "part" && line.word(at.checked_sub(1)?) == "is")
        .then(|| words::KINDS.iter().find(|row| row.word == word).map(kind))
        .flatten()
}

fn kind(kind: &words::KindWords) -> String {
    let mut said = format!("**{}**: {}", kind.word, kind.doc);
    if !kind.terminals.is_empty() {
        let terminals: Vec<String> = kind.terminals.iter().map(|one| format!("`{one}`")).collect();
        let _ = write!(said, "\n\nterminals: {}", terminals.join(" "));
    }
    for bare in kind.bare {
        let _ = write!(said, "\n- {}", bare.doc);
        if let words::BareForm::Quantity(dimension) = bare.form {
            let _ = write!(said, ", in {}", dimension.unit());
        }
    }
    for property in kind.properties {
        let _ = write!(said, "\n- `{}`: {}", property.spelling(), property.doc);
    }
    said
}

/// The words of the kind that a line is about.
pub(super) fn kind_of(first: &str, line: &Line<'_>) -> Option<&'static words::KindWords> {
    let word = match first {
        "wire" => return Some(words::WIRE),
        "data" => return Some(words::DATA),
        "part" => line.items.iter().map(|item| line.slice(*item)).skip_while(|word| *word != "is").nth(1)?,
        word => word,
    };
    words::KINDS.iter().find(|row| row.word == word)
}

fn property(first: &str, line: &Line<'_>, word: &str) -> Option<String> {
    let kind = kind_of(first, line)?;
    if let Some(property) = kind.property(word) {
        let mut said = format!("`{}`\n\n{}", property.spelling(), property.doc);
        if let Form::Quantity(dimension) = property.form {
            let _ = write!(said, "; {}", dimension.phrase());
        }
        return Some(said);
    }
    kind.bare.iter().find_map(|bare| match bare.form {
        words::BareForm::Words { words, .. } if words.contains(&word) => {
            Some(format!("`{word}`: {}", bare.doc))
        }
        words::BareForm::Colour if word.split('/').all(|one| words::COLOURS.contains(&one)) => {
            Some(format!("`{word}`: {}", bare.doc))
        }
        _ => None,
    })
}

fn setting(line: &Line<'_>, word: &str) -> Option<String> {
    let row = words::SETTINGS.iter().find(|row| row.0 == word && line.word(0) == "set")?;
    Some(format!("`{word}`: a setting that the rules know, {}", row.1.phrase()))
}

fn unit(word: &str) -> Option<String> {
    let unit = words::find_unit(word)?;
    let mut said = format!("`{word}`: {}", unit.dimension.phrase());
    match word {
        "AWG" => said += ", American wire gauge (ASTM B258)",
        "SAE" => said += ", road-vehicle gauge (SAE J1128), smaller than AWG of the same number",
        "F" => said += ", degrees Fahrenheit",
        "C" => said += ", degrees Celsius",
        _ if unit.dimension.unit() == word => {}
        _ => {
            let base = match unit.dimension {
                words::Dimension::Resistance => "ohm",
                words::Dimension::Share => "1",
                other => other.unit(),
            };
            let _ = write!(said, ", {} {base}", unit.factor);
        }
    }
    Some(said)
}

fn rule(word: &str) -> Option<String> {
    let rule = find(word)?;
    let said =
        format!("**{}** ({})\n\n{}\n\n{}\n\nHow: {}", rule.id, rule.severity, rule.claim, rule.why, rule.how);
    Some(said)
}

fn limit(word: &str) -> Option<String> {
    let limit = Limit::all().find(|limit| limit.name() == word)?;
    Some(format!("**{word}**: {}", limit.doc()))
}

fn of_limit(book: &Book, limit: Limit) -> String {
    let Some(figure) = book.limit_figure(limit) else { return String::new() };
    let mut said = format!("\n\n{} in book {}: {}", figure.value_text, figure.book, figure.source);
    if let Some(why) = &figure.changed_because {
        let _ = write!(said, "\n\nreplaced in this design because {}", escaped(why));
    }
    said
}

fn book(first: &str, word: &str) -> Option<String> {
    let book = Book::shipped(word).filter(|_| first == "book")?;
    Some(format!("**{}**: {}", book.name(), book.title()))
}
