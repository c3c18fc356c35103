//! Rules whose id begins with `meter`.

pub(super) mod bypassed;
pub(super) mod overcounted;
pub(super) mod overrange;
pub(super) mod reversed;
pub(super) mod silent;
pub(super) mod uncounted;
pub(super) mod unpowered;

use crate::circuit::{MeterView, Side};
use crate::design::{Kind, TerminalRole};

use super::Context;

/// The point to connect to on one side of a meter: a bar or post that stands there, else the meter's own terminal.
fn side_point(cx: &Context<'_>, view: &MeterView, side: Side) -> String {
    let bar = cx.design.components.iter().find(|component| {
        matches!(component.kind, Kind::Bar | Kind::Post)
            && view.side(cx.circuit.metal.node(component.first_terminal)) == Some(side)
    });
    let role = if side == Side::Sys { TerminalRole::Sys } else { TerminalRole::Bat };
    let own = cx.design.components[view.meter]
        .terminal(cx.design, role)
        .map_or_else(String::new, |terminal| cx.design.terminal_name(terminal));
    bar.map_or(own, |bar| bar.name.clone())
}
