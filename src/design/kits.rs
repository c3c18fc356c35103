//! How kits fit each other: circles, depth and how much each grows to, before anything is placed.

use crate::findings::{Finding, Severity};
use crate::syntax::{Problems, id};
use crate::text::{Sources, Span};

/// Deepest that kits may be fitted in kits.
pub(super) const DEEPEST: u32 = 64;

/// One fit in a kit: the kit that is fitted, and where it is named.
pub(super) type FitOf = (usize, Span);

/// What a kit grows to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Growth {
    /// Elements and fits, those of its fits included; at most `u64::MAX`.
    pub(super) size: u64,
    /// How deep kits stand in it, itself counted.
    pub(super) depth: u32,
    /// It is in a circle, or fits a kit that is.
    pub(super) endless: bool,
}

/// What each kit grows to; `own` has each kit's own statements, `fits` the kits that it fits.
pub(super) fn growth(
    own: &[u64],
    fits: &[Vec<FitOf>],
    names: &[&str],
    sources: &Sources,
    problems: &mut Problems,
) -> Vec<Growth> {
    #[derive(Clone, Copy, PartialEq)]
    enum Seen {
        No,
        Open,
        Done,
    }
    let mut seen = vec![Seen::No; own.len()];
    let mut all: Vec<Growth> =
        own.iter().map(|size| Growth { size: *size, depth: 1, endless: false }).collect();
    for start in 0..own.len() {
        if seen[start] != Seen::No {
            continue;
        }
        seen[start] = Seen::Open;
        let mut way: Vec<(usize, usize)> = vec![(start, 0)];
        while let Some((kit, next)) = way.last_mut() {
            let kit = *kit;
            let Some(&(inner, span)) = fits[kit].get(*next) else {
                seen[kit] = Seen::Done;
                way.pop();
                if let Some((outer, _)) = way.last() {
                    take_over(&mut all, *outer, kit);
                }
                continue;
            };
            *next += 1;
            match seen[inner] {
                Seen::Done => take_over(&mut all, kit, inner),
                Seen::No => {
                    seen[inner] = Seen::Open;
                    way.push((inner, 0));
                }
                Seen::Open => {
                    all[kit].endless = true;
                    let from = way.iter().position(|step| step.0 == inner).unwrap_or(0);
                    let mut chain: Vec<&str> =
                        way[from..].iter().take(20).map(|step| names[step.0]).collect();
                    chain.push(names[inner]);
                    circle(problems, sources, span, &chain);
                }
            }
        }
    }
    all
}

fn take_over(all: &mut [Growth], outer: usize, inner: usize) {
    let from = all[inner];
    let into = &mut all[outer];
    into.size = into.size.saturating_add(from.size);
    into.depth = into.depth.max(from.depth.saturating_add(1));
    into.endless |= from.endless;
}

fn circle(problems: &mut Problems, sources: &Sources, span: Span, chain: &[&str]) {
    problems.add(id::LIMIT, span, |_| {
        let line = sources.get(span.file).line_column(span.start).line;
        Finding::new(id::LIMIT, Severity::Error, format!("line:{line}"), span)
            .headline("kits fit each other in a circle")
            .label("closes the circle")
            .texts("chain", chain.iter().map(|name| (*name).to_owned()).collect())
            .help(chain.join(" → "))
    });
}
