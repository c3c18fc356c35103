//! `charging.voltage`: a charging voltage that does not suit the battery.

use crate::design::{Body, ComponentId, Setting};
use crate::findings::{Finding, Severity};
use crate::rules::connection::voltage::are_of_one_nominal;
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Voltage, fine_voltage};

use super::{Charged, Settings, battery, charged};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "charging.voltage",
    severity: Severity::Error,
    claim: "A charger charges at a voltage that suits the battery's chemistry.",
    why: "Too high a voltage gasses lead-acid dry and makes a lithium battery disconnect or fail; with too low a one it is never full.",
    how: "The absorption and the float that are set, for every battery that the charger's outputs reach and whose negative it comes back from, \
          all switches closed. Neither is above what the battery takes: its `full`, else the book's figure; a string takes the sum. Absorption is \
          not below the book's least for the chemistry (or `full`, where that is lower). Without a setting, the rated voltage of the output is held \
          to the upper limit alone. Alternators and supplies are judged where such a voltage is set for them. A charger for another nominal \
          voltage is left to connection.voltage.",
    limits: &[
        "full.lead-acid",
        "full.agm",
        "full.gel",
        "full.lifepo4",
        "full.nmc",
        "absorption-least.lead-acid",
        "absorption-least.agm",
        "absorption-least.gel",
        "absorption-least.lifepo4",
        "absorption-least.nmc",
    ],
    bad: example!("charging.voltage", bad),
    good: example!("charging.voltage", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// What the batteries of a group take: the range that suits all of them.
struct Takes {
    nominal: Voltage,
    most: Bound,
    least: Bound,
}

/// One end of the range.
struct Bound {
    voltage: Voltage,
    /// The battery that has it, the last of a string.
    battery: ComponentId,
    /// The name of the book's figure; `None` where the battery states its own.
    figure: Option<String>,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.design.components.iter().all(|row| !matches!(row.body, Body::Battery(_))) {
        return;
    }
    let settings = Settings::new(cx);
    for group in charged(cx) {
        let Some(takes) = takes(cx, &group) else { continue };
        for id in group.chargers.iter().chain(&group.direct) {
            judge(cx, &settings, &group, &takes, *id, out);
        }
    }
}

fn takes(cx: &Context<'_>, group: &Charged<'_>) -> Option<Takes> {
    let mut range: Option<Takes> = None;
    for source in &group.batteries {
        let mut most = Voltage::default();
        let mut least = Voltage::default();
        let mut figures = None;
        for member in &source.members {
            let battery = battery(cx, *member)?;
            let suits = battery.chemistry.map(|chemistry| {
                (
                    cx.book.full_voltage(chemistry, battery.nominal),
                    cx.book.absorption_least(chemistry, battery.nominal),
                )
            });
            let full = battery.full.or(suits.map(|row| row.0))?;
            most = most + full;
            least = least + suits.map_or(full, |row| row.1).min(full);
            figures = battery.chemistry.map(|chemistry| (battery.full.is_some(), chemistry.word()));
        }
        let (stated, word) = figures.unwrap_or((true, ""));
        let own = Takes {
            nominal: source.nominal?,
            most: Bound {
                voltage: most,
                battery: source.component,
                figure: (!stated).then(|| format!("full.{word}")),
            },
            least: Bound {
                voltage: least,
                battery: source.component,
                figure: (!word.is_empty()).then(|| format!("absorption-least.{word}")),
            },
        };
        range = Some(match range {
            None => own,
            Some(range) => Takes {
                nominal: range.nominal,
                most: if own.most.voltage < range.most.voltage { own.most } else { range.most },
                least: if range.least.voltage < own.least.voltage { own.least } else { range.least },
            },
        });
    }
    range
}

fn judge(
    cx: &Context<'_>,
    settings: &Settings<'_>,
    group: &Charged<'_>,
    takes: &Takes,
    id: ComponentId,
    out: &mut Vec<Finding>,
) {
    let output = match &cx.design.components[id].body {
        Body::Charger(charger) => charger.output,
        Body::Alternator(alternator) => alternator.nominal,
        Body::Supply(supply) => supply.nominal,
        _ => None,
    };
    if output.is_some_and(|output| !are_of_one_nominal(output, takes.nominal)) {
        return;
    }
    let absorption = settings.voltage(id, "absorption");
    for (word, set) in [("absorption", absorption), ("float", settings.voltage(id, "float"))] {
        let Some((voltage, setting)) = set else { continue };
        let is_high = !voltage.within(takes.most.voltage);
        let is_low = word == "absorption" && !takes.least.voltage.within(voltage);
        if is_high || is_low {
            let bound = if is_high { &takes.most } else { &takes.least };
            let headline = format!("{} is set to {} {word}", cx.name(id), fine_voltage(voltage));
            out.push(finding(cx, group, takes, id, bound, (voltage, word, Some(setting)), headline));
        }
    }
    let rated = output.filter(|rated| {
        matches!(cx.design.components[id].body, Body::Charger(_)) && !rated.within(takes.most.voltage)
    });
    if let (Some(rated), None) = (rated, absorption) {
        let headline = format!("{} gives {} by its rating", cx.name(id), fine_voltage(rated));
        out.push(finding(cx, group, takes, id, &takes.most, (rated, "rated", None), headline));
    }
}

fn finding(
    cx: &Context<'_>,
    group: &Charged<'_>,
    takes: &Takes,
    id: ComponentId,
    bound: &Bound,
    (voltage, word, setting): (Voltage, &'static str, Option<&Setting>),
    headline: String,
) -> Finding {
    let name = cx.name(id);
    let is_high = bound.voltage < voltage;
    let limit = fine_voltage(bound.voltage);
    let kind = battery(cx, bound.battery).and_then(|battery| battery.chemistry);
    let source = cx.circuit.source_of(bound.battery);
    let whole = match source.map_or(&[][..], |source| &source.members) {
        several @ [_, _, ..] => {
            format!("the string of {}", Context::list(&cx.names(several.iter().copied())))
        }
        _ => cx.name(bound.battery).to_owned(),
    };
    let what = kind.map_or_else(|| whole.clone(), |kind| format!("{whole} ({})", kind.word()));
    let verb = if is_high { "takes at most" } else { "needs at least" };
    let battery_note = if is_high { format!("takes at most {limit}") } else { format!("needs {limit}") };
    let range = if takes.least.voltage.within(takes.most.voltage) {
        Some(format!("{} to {}", fine_voltage(takes.least.voltage), fine_voltage(takes.most.voltage)))
    } else {
        None
    };
    let help = match (&range, word) {
        (None, _) => format!(
            "charge {} and {} apart, each from a charger of its own: no voltage suits both",
            cx.name(takes.least.battery),
            cx.name(takes.most.battery)
        ),
        (Some(_), "float") => format!(
            "set the float of {name} to at most {}, lower where the battery's maker says so",
            fine_voltage(takes.most.voltage)
        ),
        (Some(range), "absorption") => {
            let nearest = if is_high { takes.most.voltage } else { takes.least.voltage };
            format!(
                "an absorption of {range} suits {}: `set {name} absorption {}`",
                group.told(cx),
                fine_voltage(nearest)
            )
        }
        (Some(range), _) => {
            format!(
                "use a charger whose voltage can be set to {range} for {}, and state it with `set`",
                group.told(cx)
            )
        }
    };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{headline}, and {what} {verb} {limit}"))
        .label(format!("charges {whole}"));
    if let Some(setting) = setting {
        finding = finding.related(
            name,
            setting.place.span,
            format!("{word} of {} is set here", fine_voltage(voltage)),
        );
    }
    finding = finding
        .related(cx.name(bound.battery), cx.span(bound.battery), battery_note)
        .number("voltage_v", voltage.as_volts())
        .number("limit_v", bound.voltage.as_volts())
        .text("setting", word)
        .text("battery", cx.name(bound.battery))
        .help(help);
    if word != "float" {
        // The help names both ends of the range.
        for other in [&takes.least.figure, &takes.most.figure].into_iter().flatten() {
            if bound.figure.as_ref() != Some(other) {
                finding = cx.memory_figure(finding, other);
            }
        }
    }
    match &bound.figure {
        None => finding.figure(limit, format!("highest charging voltage of {whole}, as stated")),
        Some(figure) => {
            let finding = cx.limit_figure(finding, figure);
            if source.and_then(|source| source.nominal) == Some(Voltage::volts(12.0)) {
                finding
            } else {
                finding.figure(limit, format!("the same for {whole}, {}", takes.nominal))
            }
        }
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let settings = Settings::new(cx);
    for group in charged(cx) {
        let is_set = |id: &ComponentId| {
            settings.voltage(*id, "absorption").or_else(|| settings.voltage(*id, "float")).is_some()
        };
        if group.chargers.iter().chain(&group.direct).any(is_set) {
            group.members().for_each(|id| cx.unstated_full(id, out));
        }
        let open = group.chargers.iter().filter(|id| settings.voltage(**id, "absorption").is_none());
        out.add_all("set … absorption", Without::NotJudged, open.copied());
    }
}
