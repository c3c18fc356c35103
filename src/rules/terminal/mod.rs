//! Rules about what is put on terminals: rings on studs, conductors in clamps, receptacles on tabs.

pub(super) mod crowded;
pub(super) mod hole;
pub(super) mod order;
pub(super) mod size;

use crate::design::{End, Hardware, Id, Kind, TerminalId, Wire};
use crate::findings::Finding;

use super::{Context, Unstated, Without};

/// The two ends of a wire.
fn ends(wire: &Wire) -> [End; 2] {
    [wire.from, wire.to]
}

/// A terminal's hardware in words: `an M8 stud`.
fn phrase(hardware: Hardware) -> String {
    match hardware {
        Hardware::Stud { thread, .. } => format!("an M{thread} stud"),
        Hardware::Screw { least, most, .. } => format!("a screw clamp for {least} to {most}"),
        Hardware::Tab(width) => format!("a {width} mm tab"),
        Hardware::Pin => "a pin".into(),
    }
}

/// Points to the component whose terminal decides, and to the part that says so.
fn hardware_told(cx: &Context<'_>, finding: Finding, terminal: TerminalId, hardware: Hardware) -> Finding {
    let id = cx.design.terminals[terminal].component;
    let part = cx.design.components[id].part.as_ref();
    let from = part.map_or_else(String::new, |part| format!(", as part {part} says"));
    let name = cx.design.terminal_name(terminal);
    finding.related(cx.name(id), cx.span(id), format!("{name} is {}{from}", phrase(hardware)))
}

/// The word for what a part states of a terminal, and a post or bar of its studs.
const HARDWARE: &str = "hardware";

/// Terminals that wires end at and whose hardware is not stated. A chassis has none to state.
fn unstated_hardware(cx: &Context<'_>, out: &mut Unstated) {
    let design = cx.design;
    let mut wired = vec![false; design.terminals.len()];
    for end in design.wires.iter().flat_map(ends) {
        wired[end.terminal.index()] = true;
    }
    let bare = design.terminals.ids().filter(|id| {
        wired[id.index()]
            && design.components[design.terminals[*id].component].kind != Kind::Chassis
            && design.hardware(*id).is_none()
    });
    out.add_all(HARDWARE, Without::NotJudged, bare);
}
