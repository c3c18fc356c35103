//! The catalogue of rules: each in a file of its own, with its claim, reason, limits and examples beside its check.

mod battery;
mod bond;
mod charging;
mod colour;
mod conductor;
mod connection;
mod context;
mod cutoff;
mod evidence;
mod expect;
mod house;
mod isolation;
mod language;
mod lost;
mod meter;
mod mode;
mod not_yet;
mod plug;
mod protection;
mod reading;
mod returns;
mod solar;
mod source;
mod terminal;
mod unknown;
mod unstated;
mod waiver;

use crate::findings::{Finding, Severity};

pub(crate) use context::{Carried, Context};
pub(crate) use evidence::evidence;
pub use language::{MISTAKES, Mistake};
pub use not_yet::{NotYet, not_yet, not_yet_topics};
pub(crate) use unstated::{Unstated, Without};
pub(crate) use waiver::unused::finding as unused_waiver;

/// One rule.
#[derive(Debug)]
pub struct Rule {
    /// Its id, in every output and in waivers.
    pub id: &'static str,
    /// How much a finding of it matters; a book may say otherwise.
    pub severity: Severity,
    /// What it holds every design to.
    pub claim: &'static str,
    /// What goes wrong otherwise.
    pub why: &'static str,
    /// How it is computed.
    pub how: &'static str,
    /// The limits of the book that it reads.
    pub limits: &'static [&'static str],
    /// The smallest design that breaks it.
    pub bad: &'static str,
    /// The same design, mended.
    pub good: &'static str,
    /// Set off by something that is not there: a finding that arises only because a faulty wire was set aside is none.
    pub(crate) of_absence: bool,
    /// Reads what flows in the modes, by itself or for what it tells: left out of a judgement that is wanted at once.
    pub studies: bool,
    /// Tells the figures that it needs and the design does not state.
    pub(crate) unstated: Option<fn(&Context<'_>, &mut Unstated)>,
    check: fn(&Context<'_>, &mut Vec<Finding>),
}

/// The bad and the good example of a rule, kept among the samples.
macro_rules! example {
    ($id:literal, $which:ident) => {
        include_str!(concat!("../../../samples/faults/", $id, example!(@$which)))
    };
    (@bad) => { ".loom" };
    (@good) => { ".mended.loom" };
}
use example;

/// Every rule that is judged, sorted by id.
pub const ALL: &[&Rule] = &[
    &battery::discharge::RULE,
    &battery::mixed::RULE,
    &battery::takeoff::RULE,
    &battery::tap::RULE,
    &bond::extra::RULE,
    &bond::undersize::RULE,
    &charging::cold::RULE,
    &charging::current::RULE,
    &charging::lockout::RULE,
    &charging::voltage::RULE,
    &colour::convention::RULE,
    &conductor::drop::RULE,
    &conductor::overloaded::RULE,
    &conductor::small::RULE,
    &conductor::unequal::RULE,
    &connection::loose::RULE,
    &connection::overrated::RULE,
    &connection::polarity::RULE,
    &connection::short::RULE,
    &connection::voltage::RULE,
    &cutoff::misused::RULE,
    &expect::failed::RULE,
    &isolation::live::RULE,
    &isolation::lost::RULE,
    &meter::bypassed::RULE,
    &meter::overcounted::RULE,
    &meter::overrange::RULE,
    &meter::reversed::RULE,
    &meter::silent::RULE,
    &meter::uncounted::RULE,
    &meter::unpowered::RULE,
    &mode::unsolved::RULE,
    &plug::exposed::RULE,
    &protection::breaking_capacity::RULE,
    &protection::each_battery::RULE,
    &protection::far::RULE,
    &protection::in_return::RULE,
    &protection::missing::RULE,
    &protection::oversize::RULE,
    &protection::polarity::RULE,
    &protection::selectivity::RULE,
    &protection::slow::RULE,
    &protection::kinds::RULE,
    &protection::undersize::RULE,
    &protection::voltage::RULE,
    &reading::differs::RULE,
    &returns::bypass::RULE,
    &returns::missing::RULE,
    &returns::single_failure::RULE,
    &returns::undersize::RULE,
    &solar::cold::RULE,
    &solar::strings::RULE,
    &source::orphaned::RULE,
    &terminal::crowded::RULE,
    &terminal::hole::RULE,
    &terminal::order::RULE,
    &terminal::size::RULE,
    &unknown::rating::RULE,
    &waiver::expired::RULE,
    &waiver::unused::RULE,
];

/// The rule with this id.
#[must_use]
pub fn find(id: &str) -> Option<&'static Rule> {
    ALL.iter().copied().find(|rule| rule.id == id)
}

/// Judges a design by every rule that `wanted` accepts and the book applies; waivers are judged by the caller.
pub(crate) fn judge(cx: &Context<'_>, wanted: &dyn Fn(&str) -> bool) -> Vec<Finding> {
    let mut found = Vec::new();
    for rule in ALL.iter().filter(|rule| wanted(rule.id) && cx.book.rule(rule.id).applies) {
        let before = found.len();
        (rule.check)(cx, &mut found);
        if let (true, Some(whole)) = (rule.of_absence, cx.whole) {
            let mut also = Vec::new();
            (rule.check)(&cx.on(whole), &mut also);
            let stays = |finding: &Finding| also.iter().any(|other| other.subject == finding.subject);
            let mut at = 0;
            found.retain(|finding| {
                at += 1;
                at <= before || stays(finding)
            });
        }
        if !cx.design.limits.is_empty() {
            tell_changed(cx, rule, found.get_mut(before..).unwrap_or_default());
        }
    }
    house::judge(cx, wanted, &mut found);
    found
}

/// Tells in each finding of a rule the limits of it that the design replaced, with the reason, where the rule itself did not.
fn tell_changed(cx: &Context<'_>, rule: &Rule, found: &mut [Finding]) {
    for name in rule.limits.iter().flat_map(|name| cx.changed(name)) {
        for finding in found.iter_mut() {
            if !finding.figures.iter().any(|figure| is_of(&figure.meaning, &name)) {
                *finding = cx.limit_figure(finding.clone(), &name);
            }
        }
    }
}

/// Whether a figure's meaning begins with this limit's whole name.
fn is_of(meaning: &str, name: &str) -> bool {
    meaning.strip_prefix(name).is_some_and(|rest| rest.starts_with([' ', ',']))
}
