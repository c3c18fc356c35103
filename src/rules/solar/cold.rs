//! `solar.cold`: an array whose voltage on the coldest morning exceeds what its charger bears.

use crate::book::TemperatureLimit;
use crate::circuit::Source;
use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Voltage, fine_voltage};

use super::{arrays, solar};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "solar.cold",
    severity: Severity::Error,
    claim: "An array's open-circuit voltage on the coldest day stays within what its charger bears.",
    why: "Modules give their highest voltage unloaded at a cold dawn; above its limit a charger's input stage fails for good.",
    how: "`voc` times the book's factor for crystalline modules at `temperature.lowest`, against the charger's `in-max`. Components wired in series \
          add up; in parallel the highest counts; `strings` change nothing.",
    limits: &["temperature.lowest"],
    bad: example!("solar.cold", bad),
    good: example!("solar.cold", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let arrays = arrays(cx);
    if arrays.is_empty() {
        return;
    }
    for (id, component) in cx.design.components.entries() {
        let (Body::Charger(charger), Some(on)) = (&component.body, arrays.get(&id)) else { continue };
        let Some(most) = charger.input_most else { continue };
        let highest = on
            .iter()
            .filter_map(|source| Some((*source, voc(cx, source)?)))
            .reduce(|best, next| if best.1 < next.1 { next } else { best });
        if let Some((source, voc)) = highest
            && !(voc * cx.book.voc_factor()).within(most)
        {
            out.push(finding(cx, id, most, source, voc));
        }
    }
}

/// Open-circuit voltage of an array, all of its members in series.
fn voc(cx: &Context<'_>, source: &Source) -> Option<Voltage> {
    source.members.iter().map(|id| solar(cx, *id)?.voc).sum()
}

fn finding(cx: &Context<'_>, id: ComponentId, most: Voltage, source: &Source, voc: Voltage) -> Finding {
    let factor = cx.book.voc_factor();
    let lowest = cx.book.temperature(TemperatureLimit::Lowest);
    let cold = voc * factor;
    let name = cx.name(id);
    let array = Context::list(&cx.names(source.members.iter().copied()));
    let n = source.members.len();
    let verb = if n == 1 { "reaches" } else { "in series reach" };
    let permitted = Voltage::volts((most.as_volts() / factor * 100.0).floor() / 100.0);
    // Members of a string are alike, so that the first stands for each.
    let each = voc / n as f64;
    let fit = (most.as_volts() / (each.as_volts() * factor) * (1.0 + 1e-9)).floor();
    let fewer =
        if 1.0 <= fit && 1 < n { format!("wire {fit} in series instead of {n}; or ") } else { String::new() };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!(
            "{array} {verb} {} at {lowest}, and {name} bears {} at its input",
            fine_voltage(cold),
            fine_voltage(most)
        ))
        .label(format!("bears {}", fine_voltage(most)));
    for member in source.members.iter().take(8) {
        let own = solar(cx, *member).and_then(|solar| solar.voc).unwrap_or_default();
        finding = finding.related(
            cx.name(*member),
            cx.span(*member),
            format!("{} open-circuit at 25 C, {} at {lowest}", fine_voltage(own), fine_voltage(own * factor)),
        );
    }
    finding = finding
        .number("voltage_v", cold.as_volts())
        .number("limit_v", most.as_volts())
        .number("suggested_v", permitted.as_volts())
        .texts("array", cx.names(source.members.iter().copied()))
        .help(format!(
            "{fewer}use an array of at most {} open-circuit at 25 C, or a charger that bears {} or more",
            fine_voltage(permitted),
            Voltage::volts((cold.as_volts() * (1.0 - 1e-9)).ceil())
        ))
        .figure(fine_voltage(cold), format!("{} × {factor}", fine_voltage(voc)));
    finding = cx.table_figure(finding, factor.to_string(), &format!("factor at {lowest}"), "cold");
    cx.limit_figure(finding, "temperature.lowest")
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let arrays = arrays(cx);
    for (id, component) in cx.design.components.entries() {
        let (Body::Charger(charger), Some(on)) = (&component.body, arrays.get(&id)) else { continue };
        if charger.input_most.is_none() {
            out.add("in-max", Without::NotJudged, id);
        }
        let open = |id: &ComponentId| solar(cx, *id).is_some_and(|solar| solar.voc.is_none());
        out.add_all(
            "voc",
            Without::NotJudged,
            on.iter().flat_map(|source| &source.members).copied().filter(open),
        );
    }
}
