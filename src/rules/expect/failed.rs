//! `expect.failed`: a claim that the computation does not bear out.

use crate::design::{Claim, Expect, TerminalId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::study::{ModeStudy, Study};
use crate::units::{Current, Voltage, fine_voltage};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "expect.failed",
    severity: Severity::Error,
    claim: "What an `expect` claims is what the computation gives.",
    why: "A claim is what somebody relies on: where it fails, either the wiring or the claim has changed.",
    how: "The meter's reading, the wire's current (positive from its first end to its second) or the terminal's voltage in the mode named, as \
          `ohmward study` computes it, against the claim and its tolerance.",
    limits: &["conductor.operating"],
    bad: example!("expect.failed", bad),
    good: example!("expect.failed", good),
    of_absence: false,
    studies: true,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.design.expects.is_empty() {
        return;
    }
    let Some(study) = cx.study() else { return };
    for expect in &cx.design.expects {
        let mode = study.modes.iter().find(|mode| mode.mode == Some(expect.mode));
        // A mode without a solution is a finding of its own.
        if let Some(mode) = mode.filter(|mode| mode.solution.is_ok()) {
            out.extend(judge(cx, study, mode, expect));
        }
    }
}

fn judge(cx: &Context<'_>, study: &Study, mode: &ModeStudy, expect: &Expect) -> Option<Finding> {
    match expect.claim {
        Claim::Reads { meter, current, within } => {
            let amps = mode.meters.iter().find(|row| row.0 == meter).map(|row| row.1);
            let name = cx.name(meter);
            let finding =
                amount(cx, mode, expect, amps.map(Current::amps), (current, within), (name, "reads"))?;
            Some(finding.related(name, cx.span(meter), "the meter"))
        }
        Claim::Carries { wire, current, within } => {
            let amps = mode.wire(&study.network, wire).map(Current::amps);
            let name = cx.wire_name(wire);
            let finding = amount(cx, mode, expect, amps, (current, within), (name, "carries"))?;
            Some(finding.related(name, cx.wire_span(wire), "positive from its first end to its second"))
        }
        Claim::Above(end, least) => {
            let volts = voltage(mode, end.terminal);
            if volts.is_some_and(|volts| least.within(volts)) {
                return None;
            }
            Some(at_terminal(cx, mode, expect, end.terminal, volts, ("above", least)))
        }
        Claim::Below(end, most) => {
            let volts = voltage(mode, end.terminal);
            if volts.is_some_and(|volts| volts.within(most)) {
                return None;
            }
            Some(at_terminal(cx, mode, expect, end.terminal, volts, ("below", most)))
        }
    }
}

fn voltage(mode: &ModeStudy, terminal: TerminalId) -> Option<Voltage> {
    use crate::design::Id;
    let solution = mode.solution.as_ref().ok()?;
    solution.volts[terminal.index()].map(Voltage::volts)
}

fn amount(
    cx: &Context<'_>,
    mode: &ModeStudy,
    expect: &Expect,
    computed: Option<Current>,
    (claimed, within): (Current, Current),
    (name, verb): (&str, &str),
) -> Option<Finding> {
    let computed = computed.unwrap_or_default();
    let off = Current::amps((computed - claimed).as_amps().abs());
    if off.within(within) {
        return None;
    }
    let side = if computed < claimed { "less" } else { "more" };
    let finding = cx
        .at(&RULE, "", expect.place)
        .headline(format!(
            "{name} {verb} {computed} {}, and {claimed} within {within} is claimed",
            cx.in_mode(mode)
        ))
        .label(format!("{off} {side} than claimed"))
        .number("computed_a", computed.as_amps())
        .number("claimed_a", claimed.as_amps())
        .number("within_a", within.as_amps())
        .help(format!(
            "look for what is on, off or missing in the mode and would make {off}; where {computed} is right, claim that"
        ));
    Some(cx.tell_mode(finding, mode, computed.to_string()))
}

fn at_terminal(
    cx: &Context<'_>,
    mode: &ModeStudy,
    expect: &Expect,
    terminal: TerminalId,
    computed: Option<Voltage>,
    (side, claimed): (&str, Voltage),
) -> Finding {
    let name = cx.design.terminal_name(terminal);
    let id = cx.design.terminals[terminal].component;
    let claim = fine_voltage(claimed);
    let finding = cx.at(&RULE, "", expect.place).number("claimed_v", claimed.as_volts());
    let Some(volts) = computed else {
        return finding
            .headline(format!("nothing reaches {name} {}, and {side} {claim} is claimed", cx.in_mode(mode)))
            .label("no source reaches it")
            .related(cx.name(id), cx.span(id), "no source reaches it in this mode")
            .help("turn on or close in the mode what feeds it, or claim nothing of it");
    };
    let told = fine_voltage(volts);
    let off = fine_voltage(Voltage::volts((volts - claimed).as_volts().abs()));
    let help = match side {
        "above" => format!(
            "raise the source or shorten or thicken the way to {name}, to gain {off}; or claim above {told}"
        ),
        _ => format!("look for what feeds {name}; or claim below {told}"),
    };
    let finding = finding
        .headline(format!("{name} is at {told} {}, and {side} {claim} is claimed", cx.in_mode(mode)))
        .label(format!("off by {off}"))
        .related(cx.name(id), cx.span(id), format!("at {told}"))
        .number("computed_v", volts.as_volts())
        .help(help);
    cx.tell_mode(finding, mode, told)
}
