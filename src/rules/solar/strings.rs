//! `solar.strings`: a fault in one string of modules would be fed by the others with more than its modules bear.

use rustc_hash::FxHashMap;

use crate::circuit::{Circuit, EdgeKind, Micro, Source, current};
use crate::design::{ComponentId, FuseType};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Current, current_against};

use super::{parallel, solar};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "solar.strings",
    severity: Severity::Error,
    claim: "What other strings can push into a string of modules is within the modules' series fuse, or a device protects each string.",
    why: "A shaded or shorted string takes the current of all the others; above its series fuse a module's connections burn.",
    how: "(strings − 1) × `isc` of the statement itself, whose strings are joined inside, so that no device can protect them; plus what other arrays \
          on the same poles can push into it: the sum of their strings' `isc`, bounded by the devices between them and it. Against `series-fuse`, of \
          modules in series the least.",
    limits: &[],
    bad: example!("solar.strings", bad),
    good: example!("solar.strings", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// What can be pushed back into one string of an array.
struct Pushed {
    /// By the strings inside the same statement.
    inside: Current,
    /// By other arrays.
    outside: Current,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    each(cx, |source, group, pushed| {
        let fuses = source.members.iter().filter_map(|id| solar(cx, *id)?.series_fuse);
        if let Some(fuse) = fuses.reduce(Current::min)
            && !(pushed.inside + pushed.outside).within(fuse)
        {
            out.push(finding(cx, source, group, &pushed, fuse));
        }
    });
}

/// Modules whose series fuse is not stated, where more than two strings are in parallel: two alone need none.
fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    each(cx, |source, _, pushed| {
        for id in &source.members {
            if let Some(solar) = solar(cx, *id)
                && solar.series_fuse.is_none()
                && !(pushed.inside + pushed.outside).within(solar.isc)
            {
                out.add("series-fuse", Without::NotJudged, *id);
            }
        }
    });
}

/// Every array with all on its poles, and what the others push into one of its strings.
fn each(cx: &Context<'_>, mut judge: impl FnMut(&Source, &[&Source], Pushed)) {
    let parallel = parallel(cx);
    let mut groups: Vec<&Vec<&Source>> = parallel.values().collect();
    groups.sort_by_key(|group| group.first().map(|source| source.component));
    let mut clusters = None;
    for group in groups {
        let outside = match group.as_slice() {
            [_] => vec![Current::default()],
            several => clusters.get_or_insert_with(|| Clusters::new(cx.circuit)).outside(several),
        };
        for (source, outside) in group.iter().zip(outside) {
            judge(source, group, Pushed { inside: inside(cx, source), outside });
        }
    }
}

/// What the strings of a statement push into one of them.
fn inside(cx: &Context<'_>, source: &Source) -> Current {
    let of =
        |id: ComponentId| solar(cx, id).map(|solar| solar.isc * f64::from(solar.strings.saturating_sub(1)));
    source.members.iter().filter_map(|id| of(*id)).reduce(Current::min).unwrap_or_default()
}

/// Nodes that no device divides.
struct Clusters {
    of_node: Vec<u32>,
    /// The ratings of all devices at the edge of each cluster.
    edge: FxHashMap<u32, Micro>,
}

impl Clusters {
    fn new(circuit: &Circuit<'_>) -> Self {
        let metal = &circuit.metal;
        let is_device = |edge: u32| matches!(metal.edges[edge as usize], EdgeKind::Device(_));
        let of_node = metal.graph.components(|edge| !is_device(edge));
        let mut edge: FxHashMap<u32, Micro> = FxHashMap::default();
        for (number, kind) in metal.edges.iter().enumerate() {
            let EdgeKind::Device(id) = kind else { continue };
            let (a, b) = metal.graph.ends(number as u32);
            let (a, b) = (of_node[a as usize], of_node[b as usize]);
            for side in [a, b].into_iter().filter(|_| a != b) {
                let sum = edge.entry(side).or_default();
                *sum = sum.saturating_add(circuit.device_rating(*id));
            }
        }
        Self { of_node, edge }
    }

    /// What the others of some arrays in parallel can push into each: what no device divides from it, and of the rest what
    /// the devices at the edge of its cluster let through; the pole where that is less counts.
    fn outside(&self, arrays: &[&Source]) -> Vec<Current> {
        let all: Micro = arrays.iter().map(|source| source.limit).sum();
        let poles: [fn(&Source) -> u32; 2] = [|source| source.plus[0], |source| source.minus];
        let mut outside: Vec<Micro> = arrays.iter().map(|source| all - source.limit).collect();
        for pole in poles {
            let cluster = |source: &Source| self.of_node[pole(source) as usize];
            let mut sums: FxHashMap<u32, Micro> = FxHashMap::default();
            for source in arrays {
                *sums.entry(cluster(source)).or_default() += source.limit;
            }
            for (source, outside) in arrays.iter().zip(&mut outside) {
                let own = sums.get(&cluster(source)).copied().unwrap_or_default();
                let through = self.edge.get(&cluster(source)).copied().unwrap_or_default();
                *outside = (*outside).min(own - source.limit + through.min(all - own));
            }
        }
        outside.into_iter().map(current).collect()
    }
}

fn finding(cx: &Context<'_>, source: &Source, group: &[&Source], pushed: &Pushed, fuse: Current) -> Finding {
    let name = cx.name(source.component);
    let Pushed { inside, outside } = *pushed;
    let sum = inside + outside;
    let (isc, strings) =
        solar(cx, source.component).map_or((Current::default(), 1), |row| (row.isc, row.strings));
    let rating = cx.book.ratings(Some(FuseType::Cylindrical)).iter().rfind(|rating| rating.within(fuse));
    let device = match rating {
        Some(rating) => format!("a fuse of {rating}, cylindrical,"),
        None => format!("a fuse of at most {fuse}"),
    };
    // Rounded so that what is just enough counts.
    let fit = (fuse / isc * (1.0 + 1e-9)).floor() + 1.0;
    let help = if inside.within(fuse) && strings < 2 {
        format!("fit {device} at {name}, between it and the other arrays")
    } else if strings < 2 {
        format!("fit {device} in each string")
    } else {
        let fewer = if fit < f64::from(strings) && outside == Current::default() {
            format!(", or put no more than {fit} strings in parallel")
        } else {
            String::new()
        };
        format!(
            "fit {device} in each string, and state each string as a solar component of its own with that fuse{fewer}"
        )
    };
    let headline = format!(
        "the other strings push {} into one of {name}, and its modules bear {fuse}",
        current_against(sum, fuse)
    );
    let mut finding = cx.on_component(&RULE, source.component).headline(headline);
    finding = if strings < 2 {
        finding.label("no device between it and the others bounds that")
    } else {
        finding.label(format!("{strings} strings, joined without a device"))
    };
    for other in group.iter().filter(|other| other.component != source.component).take(8) {
        let note = format!("beside it, gives up to {}", current(other.limit));
        finding = finding.related(cx.name(other.component), cx.span(other.component), note);
    }
    finding = finding
        .number("current_a", sum.as_amps())
        .number("limit_a", fuse.as_amps())
        .number("strings", f64::from(strings))
        .help(help)
        .figure(fuse.to_string(), "series-fuse of its modules");
    if 1 < strings {
        finding = finding.figure(inside.to_string(), format!("{} of its own strings at {isc}", strings - 1));
    }
    if Current::default() < outside {
        finding = finding.figure(outside.to_string(), "from the other arrays, past the devices between");
    }
    finding
}
