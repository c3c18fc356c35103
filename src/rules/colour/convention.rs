//! `colour.convention`: a wire's colour says something else than what it carries.

use crate::book::ColourRole;
use crate::check::Role;
use crate::design::{TerminalRole, WireColour, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "colour.convention",
    severity: Severity::Warning,
    claim: "A wire's colour is one that the book allows for what it carries.",
    why: "Whoever opens the panel next goes by colour: a black wire that is live, or a red one that is not, is cut by mistake.",
    how: "Live wires have a colour of the positive, returns one of the negative, bonds one of the bond. What ends at a `sense` or `enable` \
          terminal has one of control leads. A link inside a string is the one battery's positive and the next one's negative: either will do. Wires \
          that state no colour, and those that no source reaches, are not judged.",
    limits: &[],
    bad: example!("colour.convention", bad),
    good: example!("colour.convention", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (wire, row) in cx.design.wires.entries() {
        let Some(colour) = row.colour else { continue };
        let roles = carries(cx, wire);
        if !roles.is_empty() && !roles.iter().any(|role| cx.book.allows_colour(*role, colour)) {
            out.push(finding(cx, wire, colour, roles));
        }
    }
}

/// What a wire carries; of several, a colour of any will do.
fn carries(cx: &Context<'_>, wire: WireId) -> &'static [ColourRole] {
    let row = &cx.design.wires[wire];
    let is_control = [row.from, row.to].iter().any(|end| {
        matches!(cx.design.terminals[end.terminal].role, TerminalRole::Sense | TerminalRole::Enable)
    });
    match cx.circuit.role(wire) {
        _ if is_control => &[ColourRole::Control],
        Role::Live => &[ColourRole::Positive],
        Role::Return => &[ColourRole::Negative],
        Role::Bond => &[ColourRole::Bond],
        Role::Other if cx.circuit.is_link(wire) => &[ColourRole::Positive, ColourRole::Negative],
        Role::Other => &[],
    }
}

fn finding(cx: &Context<'_>, wire: WireId, colour: WireColour, roles: &[ColourRole]) -> Finding {
    let row = &cx.design.wires[wire];
    let name = &row.name;
    let words = |role: ColourRole| match role {
        ColourRole::Positive => "a positive",
        ColourRole::Negative => "a negative",
        ColourRole::Bond => "a bond",
        ColourRole::Control => "a control lead",
    };
    let what =
        if roles.len() == 1 { roles.first().map_or("", |role| words(*role)) } else { "a link of a string" };
    // What somebody who goes by the colour takes it for.
    let taken = ColourRole::WORDS.iter().map(|row| row.1).find(|role| {
        !roles.contains(role) && !cx.book.colours(*role).is_empty() && cx.book.allows_colour(*role, colour)
    });
    let headline = match taken {
        Some(role) => format!("{name} is {what}, and {colour} is the colour of {}", words(role)),
        None => format!("{name} is {what}, and {colour}"),
    };
    let allowed: Vec<String> =
        roles.iter().flat_map(|role| cx.book.colours(*role)).map(ToString::to_string).collect();
    let of = cx.design.terminal_name(row.from.terminal);
    let to = cx.design.terminal_name(row.to.terminal);
    let tracer = roles.iter().any(|role| tracer(cx, *role));
    let either = either(&allowed);
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(headline)
        .label(format!("{colour}, from {of} to {to}"))
        .text("colour", colour.to_string())
        .texts("allowed", allowed)
        .help(format!(
            "use {either} for {name}{}",
            if tracer { ", with a tracer of any colour if you like" } else { "" }
        ));
    for role in roles {
        let word = ColourRole::WORDS.iter().find(|row| row.1 == *role).map_or("", |row| row.0);
        finding = cx.limit_figure(finding, &format!("colours.{word}"));
    }
    finding
}

/// Whether the book adds a tracer to a role's colours.
fn tracer(cx: &Context<'_>, role: ColourRole) -> bool {
    cx.book.colours(role).iter().any(|colour| {
        let other = crate::design::Colour::WORDS.iter().map(|row| row.1).find(|other| {
            let with = WireColour { base: colour.base, tracer: Some(*other) };
            *other != colour.base && !cx.book.colours(role).contains(&with)
        });
        colour.tracer.is_none()
            && other.is_some_and(|other| {
                cx.book.allows_colour(role, WireColour { base: colour.base, tracer: Some(other) })
            })
    })
}

/// `black or yellow`.
fn either(words: &[String]) -> String {
    match words {
        [] => "another colour".into(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}
