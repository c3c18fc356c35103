//! The evidence of every wire: as a table, or in sentences.

use std::io::{Result, Write};

use super::human::write_wrapped;
use super::wording::{clean, padded};
use crate::check::{Flow, Role, StretchEvidence, WireEvidence};
use crate::units::three_figures;

const HEADS: [&str; 5] = ["wire", "ampacity", "what can flow", "protected by", "margin"];

/// A table of all wires of a design.
pub(super) fn table(path: &str, wires: &[WireEvidence], out: &mut dyn Write) -> Result<()> {
    let rows: Vec<[String; 5]> = wires.iter().map(row).collect();
    let widths: Vec<usize> = (0..HEADS.len())
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count());
            cells.chain(HEADS.get(column).map(|head| head.len())).max().unwrap_or(0)
        })
        .collect();
    writeln!(out, "wires of {}", clean(path))?;
    write_row(out, &HEADS.map(str::to_owned), &widths)?;
    for row in &rows {
        write_row(out, row, &widths)?;
    }
    writeln!(out)
}

fn write_row(out: &mut dyn Write, row: &[String; 5], widths: &[usize]) -> Result<()> {
    let cells: Vec<String> = row.iter().zip(widths).map(|(cell, width)| padded(cell, *width)).collect();
    writeln!(out, "  {}", cells.join("  ").trim_end())
}

fn row(wire: &WireEvidence) -> [String; 5] {
    [
        clean(&wire.name).into_owned(),
        wire.ampacity.to_string(),
        flow_of(wire),
        protection(wire),
        wire.margin.map_or_else(|| "-".into(), three_figures),
    ]
}

/// One sentence a wire.
pub(super) fn told(path: &str, wires: &[WireEvidence], width: usize, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "wires of {}", clean(path))?;
    for wire in wires {
        let margin =
            wire.margin.map_or_else(String::new, |margin| format!("; margin {}", three_figures(margin)));
        let protection = match protection(wire) {
            text if text == "-" => String::new(),
            text => format!("; protected by {text}"),
        };
        let name = clean(&wire.name);
        let text = format!(
            "{name}: ampacity {}; what can flow: {}{protection}{margin}.",
            wire.ampacity,
            flow_of(wire)
        );
        write_wrapped(out, 2, 4, &text, width)?;
    }
    writeln!(out)
}

/// Let-through for what is live, circulation for what returns, the sum of the devices on a permitted stretch.
fn flow_of(wire: &WireEvidence) -> String {
    match (wire.role, &wire.stretch) {
        (Role::Live, Some(stretch)) if stretch.followed => format!("{} beyond its stretch", stretch.devices),
        (Role::Live, _) => flow(wire.let_through),
        (_, _) => wire.circulation.map_or_else(|| "shared in a loop".into(), flow),
    }
}

fn flow(flow: Flow) -> String {
    match flow {
        Flow::None => "nothing".into(),
        Flow::Limited(current) => current.to_string(),
        Flow::Unlimited => "no limit".into(),
    }
}

fn protection(wire: &WireEvidence) -> String {
    match (&wire.stretch, wire.protected_by.is_empty()) {
        (Some(stretch), true) => along(stretch),
        (None, true) => "-".into(),
        (_, false) => clean(&wire.protected_by.join(", ")).into_owned(),
    }
}

fn along(stretch: &StretchEvidence) -> String {
    let StretchEvidence { source, length, limit, followed, .. } = stretch;
    match followed {
        true => format!("a device that follows: {length} of {limit} from {}", clean(source)),
        false => format!("nothing: {length} from {}", clean(source)),
    }
}
