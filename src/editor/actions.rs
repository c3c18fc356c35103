//! Quick fixes, from the figures that a finding gives.

use std::collections::BTreeMap;

use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, Diagnostic, NumberOrString, Range,
    TextEdit,
};

use crate::design::{NameClass, Named, Outline};
use crate::findings::{Finding, Value};
use crate::syntax::items::Item;
use crate::syntax::words::{self, Dimension};
use crate::text::{FileId, Span};
use crate::units::{Area, Gauge, Size};

use super::lines::{Line, is_number};
use super::rename::workspace_edit;
use super::server::Server;
use super::tried::Tried;

/// Length of the wire from a source to a fuse that is not bolted to it, in millimetres, where the limit is no less.
const SHORT_MM: f64 = 150.0;

/// An edit of one file, with what it does.
struct Fix {
    title: String,
    path: String,
    edits: Vec<TextEdit>,
    preferred: bool,
}

/// What can be done about the findings at a place.
pub(super) fn actions(server: &mut Server, params: &CodeActionParams) -> Option<Vec<CodeActionOrCommand>> {
    let wanted = |kind: &CodeActionKind| CodeActionKind::QUICKFIX.as_str().starts_with(kind.as_str());
    if params.context.only.as_ref().is_some_and(|only| !only.iter().any(wanted)) {
        return Some(Vec::new());
    }
    let path = server.path(&params.text_document.uri);
    let touches = |range: &Range| range.start <= params.range.end && params.range.start <= range.end;
    let here: Vec<(String, Range, Finding)> = server
        .findings()
        .filter(|(_, row)| row.0 == path && touches(&row.1))
        .map(|(design, row)| (design.to_owned(), row.1, row.2.clone()))
        .collect();
    let mut actions = Vec::new();
    let (mut seen, mut tried) = (Vec::new(), Tried::default());
    for (design, range, finding) in here {
        if seen.contains(&(range, finding.clone())) {
            continue;
        }
        for mut ways in fixes(server, &design, &path, range, &finding) {
            // What follows from a mended word is not told before it is mended.
            let is_language = finding.rule.starts_with("language.");
            let holds = |fix: &Fix| {
                is_language || !fix.preferred || tried.holds(server, &design, &fix.path, &fix.edits)
            };
            let Some(at) = ways.iter().position(holds) else { continue };
            let fix = ways.swap_remove(at);
            let diagnostics: Vec<Diagnostic> = params
                .context
                .diagnostics
                .iter()
                .filter(|row| {
                    row.range == range && row.code == Some(NumberOrString::String(finding.rule.to_string()))
                })
                .cloned()
                .collect();
            actions.push(CodeActionOrCommand::CodeAction(CodeAction {
                title: fix.title,
                kind: Some(CodeActionKind::QUICKFIX),
                diagnostics: Some(diagnostics),
                edit: Some(workspace_edit(server, BTreeMap::from([(fix.path, fix.edits)]))),
                is_preferred: Some(fix.preferred),
                ..CodeAction::default()
            }));
        }
        seen.push((range, finding));
    }
    Some(actions)
}

/// What can be done about a finding, each in one way or several, the best first.
fn fixes(server: &mut Server, design: &str, path: &str, range: Range, finding: &Finding) -> Vec<Vec<Fix>> {
    let outline = server.outline(path);
    let mut fixes = Vec::new();
    let one = |fix: Fix| vec![fix];
    fixes.extend(nearest(path, range, finding).map(one));
    let at = server.text(&outline, FileId(0)).offset(range.start);
    let named = outline.names.iter().find(|one| one.span.file == FileId(0) && one.span.start as usize == at);
    let place = Place { server, outline: &outline, path };
    if let Some(named) = named {
        fixes.push(place.missing_fuse(named, finding));
        fixes.extend(place.rating(named, finding).map(one));
        fixes.extend(place.size(named, finding).map(one));
    }
    fixes.extend(place.sizes(finding).map(one));
    fixes.extend(waiver(server, design, finding).map(one));
    fixes
}

/// The nearest right word in place of a wrong one.
fn nearest(path: &str, range: Range, finding: &Finding) -> Option<Fix> {
    if !matches!(&*finding.rule, "language.word" | "language.name") {
        return None;
    }
    let rest = finding.help.strip_prefix("the nearest ")?;
    let (what, word) = rest.split_once(" is `")?;
    let word = word.strip_suffix('`')?;
    if word.contains('`') || !what.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b' ') {
        return None;
    }
    let edit = TextEdit { range, new_text: word.to_owned() };
    Some(Fix { title: format!("write `{word}`"), path: path.to_owned(), edits: vec![edit], preferred: true })
}

fn number(finding: &Finding, key: &str) -> Option<f64> {
    match finding.values.get(key)? {
        Value::Number(number) if number.is_finite() => Some(*number),
        _ => None,
    }
}

/// A number as the language writes it.
fn plain(figure: f64) -> String {
    let text = format!("{figure:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// How lines end in a text.
fn line_end(text: &str) -> &'static str {
    match text.split_once('\n') {
        Some((first, _)) if first.ends_with('\r') => "\r\n",
        _ => "\n",
    }
}

/// A file that is being mended.
struct Place<'s> {
    server: &'s Server,
    outline: &'s Outline,
    path: &'s str,
}

impl Place<'_> {
    fn statement(&self, named: &Named) -> (Line<'_>, usize) {
        let text = self.outline.sources.get(named.statement.file).text();
        (Line::around(text, named.statement.start as usize), named.statement.start as usize)
    }

    fn edit(&self, start: u32, end: u32, new_text: String) -> TextEdit {
        let span = Span { file: FileId(0), start, end };
        TextEdit { range: self.server.text(self.outline, FileId(0)).range(span), new_text }
    }

    fn fix(&self, title: String, edits: Vec<TextEdit>) -> Fix {
        Fix { title, path: self.path.to_owned(), edits, preferred: true }
    }

    /// A device of the type and of each rating that the finding gives, the largest first.
    fn missing_fuse(&self, wire: &Named, finding: &Finding) -> Vec<Fix> {
        if finding.rule != "protection.missing" || wire.name != finding.subject {
            return Vec::new();
        }
        let Some(Value::Texts(ratings)) = finding.values.get("suggested_ratings") else { return Vec::new() };
        ratings.iter().rev().filter_map(|rating| self.fuse(wire, finding, rating)).collect()
    }

    /// A device at the source's terminal: bolted to it, or a blade fuse on a short wire like the one that it protects.
    fn fuse(&self, wire: &Named, finding: &Finding, rating: &str) -> Option<Fix> {
        let text_of = |key: &str| match finding.values.get(key)? {
            Value::Text(text) => Some(text.as_str()),
            _ => None,
        };
        let (source, kind) = (text_of("source")?, text_of("suggested_type")?);
        let (line, start) = self.statement(wire);
        let ends = ["from", "to"].map(|word| {
            let at = line.items.iter().position(|item| line.slice(*item) == word)?;
            line.items.get(at + 1).copied()
        });
        let of_source = |item: &Item| line.slice(*item).split_once('.').is_some_and(|row| row.0 == source);
        let [Some(from), Some(to)] = ends else { return None };
        // With both ends on the source it would have to be known which way the current comes.
        let (near, far) = match (of_source(&from), of_source(&to)) {
            (true, false) => (from, to),
            (false, true) => (to, from),
            _ => return None,
        };
        let (terminal, name) = (line.slice(near), self.free_name(wire.scope, "F"));
        let text = self.outline.sources.get(FileId(0)).text();
        let indent: String = text
            .get(..start)
            .unwrap_or("")
            .chars()
            .rev()
            .take_while(|one| matches!(one, ' ' | '\t'))
            .collect();
        let joint = match kind {
            "blade" => {
                let length = (number(finding, "limit_m")? * 100.0).floor() * 10.0;
                let own = [
                    (wire.span, self.free_name(wire.scope, "W")),
                    (far.span, format!("{name}.line")),
                    (length_of(&line)?, format!("{} mm", plain(length.min(SHORT_MM)))),
                ];
                line.written_with(&own)
            }
            _ => format!("bolt {name}.line to {terminal}"),
        };
        let eol = line_end(text);
        let new = format!("fuse {name} {rating} {kind}{eol}{indent}{joint}{eol}{indent}");
        let at = wire.statement.start;
        let edits =
            vec![self.edit(at, at, new), self.edit(near.span.start, near.span.end, format!("{name}.load"))];
        Some(self.fix(format!("fit a fuse of {rating}, {kind}, at {terminal}"), edits))
    }

    fn free_name(&self, scope: usize, letter: &str) -> String {
        let names = self.outline.scopes.get(scope).into_iter().flat_map(|scope| &scope.names);
        let taken: Vec<&str> =
            names.filter_map(|at| self.outline.names.get(*at)).map(|named| &*named.name).collect();
        let free = (1..).map(|n: usize| format!("{letter}{n}")).find(|name| !taken.contains(&name.as_str()));
        free.unwrap_or_default()
    }

    /// Another rating of the device that is in the finding.
    fn rating(&self, subject: &Named, finding: &Finding) -> Option<Fix> {
        let rating = plain(number(finding, "suggested_a")?);
        let device = match &*finding.rule {
            "protection.undersize" => subject,
            "protection.oversize" | "protection.slow" => {
                let Some(Value::Texts(devices)) =
                    ["cut", "devices"].iter().find_map(|key| finding.values.get(*key))
                else {
                    return None;
                };
                let [device] = devices.as_slice() else { return None };
                self.outline.names.iter().find(|one| {
                    one.name == *device && one.span.file == FileId(0) && one.scope == subject.scope
                })?
            }
            _ => return None,
        };
        if !device.words.is_some_and(|words| matches!(words.word, "fuse" | "breaker")) {
            return None;
        }
        let (line, _) = self.statement(device);
        let bare = |at: &usize| {
            let after_word = at.checked_sub(1).map_or("", |at| line.word(at));
            is_unit_of(&line, *at, Dimension::Current) && !matches!(after_word, "breaks" | "holder")
        };
        let edit = match (0..line.items.len())
            .find(bare)
            .and_then(|at| Some((line.items.get(at)?, line.items.get(at + 1)?)))
        {
            Some((from, to)) => self.edit(from.span.start, to.span.end, format!("{rating} A")),
            // Given by whoever fits the kit.
            None if line.items.iter().any(|item| line.slice(*item).starts_with('$')) => return None,
            // Its part has the rating, which its own replaces.
            None => {
                let at = device.statement.end;
                self.edit(at, at, format!(" {rating} A"))
            }
        };
        Some(self.fix(format!("give {} a rating of {rating} A", device.name), vec![edit]))
    }

    /// The conductor size that the finding gives.
    fn size(&self, wire: &Named, finding: &Finding) -> Option<Fix> {
        let area = number(finding, "suggested_mm2")?;
        if wire.class != NameClass::Wire || wire.name != finding.subject.rsplit('/').next()? {
            return None;
        }
        // Several wires that share a loss have their sizes together.
        if finding.values.contains_key("suggested_wires") {
            return None;
        }
        let (size, edit) = self.sized(wire, area)?;
        Some(self.fix(format!("make {} {size}", wire.name), vec![edit]))
    }

    /// The size that the finding gives to several wires of the design.
    fn sizes(&self, finding: &Finding) -> Option<Fix> {
        let area = number(finding, "suggested_mm2")?;
        let Some(Value::Texts(wires)) = finding.values.get("suggested_wires") else { return None };
        let (mut sizes, mut edits) = (Vec::new(), Vec::new());
        for name in wires {
            let wire = self.outline.names.iter().find(|one| {
                one.name == *name
                    && one.class == NameClass::Wire
                    && one.span.file == FileId(0)
                    && self.outline.scopes.get(one.scope).is_some_and(|scope| scope.kit.is_none())
            })?;
            let (size, edit) = self.sized(wire, area)?;
            sizes.push(size);
            edits.push(edit);
        }
        let size = sizes.first()?;
        Some(self.fix(format!("make {} {size}", wires.join(" and ")), edits))
    }

    /// A wire's size in the unit that it has, and the edit that gives it.
    fn sized(&self, wire: &Named, area: f64) -> Option<(String, TextEdit)> {
        let (line, _) = self.statement(wire);
        let at = (0..line.items.len()).find(|at| is_unit_of(&line, *at, Dimension::Area))?;
        let (from, to) = (line.items.get(at)?, line.items.get(at + 1)?);
        let size = written(area, line.slice(*to));
        Some((size.clone(), self.edit(from.span.start, to.span.end, size)))
    }
}

/// Where a line gives a length, number and unit.
fn length_of(line: &Line<'_>) -> Option<Span> {
    let at = (0..line.items.len()).find(|at| is_unit_of(line, *at, Dimension::Length))?;
    let (from, to) = (line.items.get(at)?.span, line.items.get(at + 1)?.span);
    Some(Span { end: to.end, ..from })
}

/// Whether a number stands at a place of a line, with a unit of this dimension after it.
fn is_unit_of(line: &Line<'_>, at: usize, dimension: Dimension) -> bool {
    let is_number = line.items.get(at).is_some_and(|item| is_number(item.kind));
    is_number && words::find_unit(line.word(at + 1)).is_some_and(|unit| unit.dimension == dimension)
}

/// A standard size in the series of the unit that was written; an area that is none of it in square millimetres.
fn written(area: f64, unit: &str) -> String {
    let like = match unit {
        "AWG" => Size::Awg(Gauge(0)),
        "SAE" => Size::Sae(Gauge(0)),
        _ => return format!("{} mm2", plain(area)),
    };
    let near = |size: &Size| (size.area().as_mm2() - area).abs() < area * 1e-6;
    Size::series(like).find(near).unwrap_or(Size::Metric(Area::mm2(area))).to_string()
}

/// The words that accept the finding, for the end of the design.
fn waiver(server: &Server, design: &str, finding: &Finding) -> Option<Fix> {
    let rule = &*finding.rule;
    if rule.starts_with("language.") || rule.starts_with("waiver.") || finding.subject.is_empty() {
        return None;
    }
    let until = server.world.today().a_year_on();
    let text = server.text_of(design);
    let end = text.position(text.text.len());
    let line_end = line_end(&text.text);
    let before = if text.text.is_empty() || text.text.ends_with('\n') { "" } else { line_end };
    let new_text =
        format!("{before}waive {rule} on {} because \"the reason\" until {until}{line_end}", finding.subject);
    let title = format!("accept {rule} on {} until {until}, with a reason", finding.subject);
    let edit = TextEdit { range: Range { start: end, end }, new_text };
    Some(Fix { title, path: design.to_owned(), edits: vec![edit], preferred: false })
}
