//! Which element of one design is which of another. Names decide where what they name has stayed in its place; else the
//! ratings and connections do, so that what was renamed is found, however names were handed on, exchanged or counted
//! anew.
//!
//! Everything here treats the two designs alike: matched the other way round, the same pairs come out.

use std::borrow::Cow;
use std::cmp::Ordering;

use rustc_hash::{FxHashMap, FxHashSet};

use super::graph::{Graph, NONE, label, mix};
use crate::design::{FitId, Id};

/// Rounds of colouring, so that elements are told apart by what lies so many steps away.
const ROUNDS: usize = 24;
/// Rounds of finding; each goes on from what was found before.
const PASSES: usize = 16;
/// Elements on one terminal, beyond which sharing it says little.
const CROWD: usize = 16;

/// Which vertex of the one is which of the other, both ways; and the fits likewise.
pub(super) struct Matching<'g, 'd> {
    graphs: [&'g Graph<'d>; 2],
    mate: [Vec<u32>; 2],
    fit_mate: [Vec<u32>; 2],
    /// Hashes of names, by vertex.
    named: [Vec<u64>; 2],
    by_name: [FxHashMap<&'d str, u32>; 2],
}

impl<'g, 'd> Matching<'g, 'd> {
    pub(super) fn new(old: &'g Graph<'d>, new: &'g Graph<'d>) -> Self {
        let graphs = [old, new];
        let mut matching = Self {
            graphs,
            mate: graphs.map(|graph| vec![NONE; graph.len()]),
            fit_mate: graphs.map(|graph| vec![NONE; graph.design.fits.len()]),
            named: graphs.map(|graph| graph.vertices().map(|at| label(&graph.name(at))).collect()),
            by_name: graphs.map(|graph| graph.vertices().map(|at| (graph.name(at), at)).collect()),
        };
        matching.stay();
        matching.grow();
        matching.match_fits();
        matching.by_name();
        matching.grow();
        matching.doubt();
        matching.untangle();
        matching.match_fits();
        matching
    }

    /// The new vertex that an old one is.
    pub(super) fn new_of(&self, old: u32) -> Option<u32> {
        Some(self.mate[0][old as usize]).filter(|mate| *mate != NONE)
    }

    /// The old vertex that a new one was.
    pub(super) fn old_of(&self, new: u32) -> Option<u32> {
        Some(self.mate[1][new as usize]).filter(|mate| *mate != NONE)
    }

    /// The new fit that an old one is.
    pub(super) fn new_fit_of(&self, old: FitId) -> Option<FitId> {
        Some(self.fit_mate[0][old.index()]).filter(|mate| *mate != NONE).map(FitId)
    }

    /// The old fit that a new one was.
    pub(super) fn old_fit_of(&self, new: FitId) -> Option<FitId> {
        Some(self.fit_mate[1][new.index()]).filter(|mate| *mate != NONE).map(FitId)
    }

    /// Whether a matched pair has two names; what stands in a renamed fit is called after it, and not renamed itself.
    pub(super) fn is_renamed(&self, old: u32, new: u32) -> bool {
        self.called(old) != self.graphs[1].name(new)
    }

    /// An old vertex's name, with the name that its fit now has.
    fn called(&self, old: u32) -> Cow<'d, str> {
        let graph = self.graphs[0];
        let name = graph.name(old);
        let Some(fit) = graph.fit(old) else { return Cow::Borrowed(name) };
        self.called_in(name, fit)
    }

    /// The same for any full name of something in a fit of the old design.
    pub(super) fn called_in<'n>(&self, name: &'n str, fit: FitId) -> Cow<'n, str> {
        let [old, new] = self.graphs;
        let before = &old.design.fits[fit].name;
        match self.new_fit_of(fit).map(|fit| &new.design.fits[fit].name) {
            Some(now) if now != before => match name.strip_prefix(before.as_str()) {
                Some(rest) => Cow::Owned(format!("{now}{rest}")),
                None => Cow::Borrowed(name),
            },
            _ => Cow::Borrowed(name),
        }
    }

    fn is_free(&self, side: usize, vertex: u32) -> bool {
        self.mate[side][vertex as usize] == NONE
    }

    fn free(&self, side: usize) -> Vec<u32> {
        self.graphs[side].vertices().filter(|at| self.is_free(side, *at)).collect()
    }

    fn pair(&mut self, old: u32, new: u32) {
        self.mate[0][old as usize] = new;
        self.mate[1][new as usize] = old;
    }

    fn part(&mut self, old: u32, new: u32) {
        self.mate[0][old as usize] = NONE;
        self.mate[1][new as usize] = NONE;
    }

    fn pairs(&self) -> impl Iterator<Item = (u32, u32)> {
        let pairs = self.mate[0].iter().enumerate().filter(|pair| *pair.1 != NONE);
        pairs.map(|(old, new)| (u32::try_from(old).unwrap_or(NONE), *new))
    }

    // What has kept its name and its place.

    fn stay(&mut self) {
        let [old, new] = self.graphs;
        for a in old.vertices() {
            let Some(&b) = self.by_name[1].get(old.name(a)) else { continue };
            if old.sort(a) != new.sort(b) {
                continue;
            }
            let same = self.sum(0, a, Self::near) == self.sum(1, b, Self::near);
            let rated = old.rated[a as usize] == new.rated[b as usize];
            let stays = match rated {
                true => same || self.far_alike(a, b) || self.mostly(a, b, Self::near),
                false => same,
            };
            if stays {
                self.pair(a, b);
            }
        }
    }

    /// Whether two components are joined to the same ones, if by wires of other names.
    fn far_alike(&self, a: u32, b: u32) -> bool {
        let [old, new] = self.graphs;
        old.is_component(a)
            && new.is_component(b)
            && (self.sum(0, a, Self::far) == self.sum(1, b, Self::far) || self.mostly(a, b, Self::far))
    }

    /// What an edge leads to, by name.
    fn near(&self, side: usize, vertex: u32, at: usize) -> u64 {
        let edge = self.graphs[side].edges(vertex)[at];
        mix(edge.label, self.named[side][edge.to as usize])
    }

    /// What lies beyond the conductor that an edge leads to, by name.
    fn far(&self, side: usize, vertex: u32, at: usize) -> u64 {
        let graph = self.graphs[side];
        let edge = graph.edges(vertex)[at];
        let beyond = graph.has_ends(edge.to).then(|| {
            let near = super::graph::Edge { label: edge.label, to: vertex };
            graph.far(edge.to, near).map(|far| mix(far.label, self.named[side][far.to as usize]))
        });
        match beyond.flatten() {
            Some(beyond) => mix(edge.label, beyond),
            None => self.near(side, vertex, at),
        }
    }

    /// What a vertex is joined to, all together, in no order.
    fn sum(&self, side: usize, vertex: u32, of: impl Fn(&Self, usize, u32, usize) -> u64) -> u64 {
        let n_edges = self.graphs[side].edges(vertex).len();
        (0..n_edges).fold(n_edges as u64, |sum, at| sum.wrapping_add(of(self, side, vertex, at)))
    }

    /// Whether more than half of what either is joined to is the same.
    fn mostly(&self, a: u32, b: u32, of: impl Fn(&Self, usize, u32, usize) -> u64) -> bool {
        let all = |side: usize, vertex: u32| {
            let n_edges = self.graphs[side].edges(vertex).len();
            let mut all: Vec<u64> = (0..n_edges).map(|at| of(self, side, vertex, at)).collect();
            all.sort_unstable();
            all
        };
        let (left, right) = (all(0, a), all(1, b));
        left.len().max(right.len()) < 2 * shared(&left, &right)
    }

    // What has the same ratings and connections.

    fn grow(&mut self) {
        for _ in 0..PASSES {
            if !self.refine() && !self.vote() {
                break;
            }
        }
    }

    /// A number for a matched pair that is the same from both sides.
    fn pair_key(&self, side: usize, vertex: u32) -> u64 {
        let mate = self.mate[side][vertex as usize];
        let (a, b) = (self.named[side][vertex as usize], self.named[1 - side][mate as usize]);
        mix(mix(a.min(b), a.max(b)), self.graphs[side].sort(vertex) as u64)
    }

    /// Colours what is free by its ratings, then again and again by the colours around it, and matches what has a colour
    /// of its own: first where it is told from its like by all around it, then by ever less.
    fn refine(&mut self) -> bool {
        let free = [0, 1].map(|side| self.free(side));
        if free.iter().any(Vec::is_empty) {
            return false;
        }
        let mut colours = [0, 1].map(|side| self.plain(side));
        let mut levels: Vec<[Vec<u64>; 2]> = Vec::new();
        let mut n_colours = 0;
        for round in 0..ROUNDS {
            let next = [0, 1].map(|side| self.coloured(side, &free[side], &colours));
            for side in [0, 1] {
                for (vertex, colour) in free[side].iter().zip(&next[side]) {
                    colours[side][*vertex as usize] = *colour;
                }
            }
            let distinct: FxHashSet<u64> = next.iter().flatten().copied().collect();
            if 3 <= levels.len() {
                levels.pop();
            }
            levels.push(next);
            if distinct.len() == n_colours && 1 < round {
                break;
            }
            n_colours = distinct.len();
        }
        for (depth, level) in levels.iter().enumerate().rev() {
            let deepest = (depth + 1 == levels.len()).then_some(&colours);
            if self.pair_by_colour(&free, level, deepest) {
                return true;
            }
        }
        false
    }

    fn plain(&self, side: usize) -> Vec<u64> {
        let graph = self.graphs[side];
        let colour = |vertex| match self.is_free(side, vertex) {
            true => mix(1, graph.rated[vertex as usize]),
            false => mix(2, self.pair_key(side, vertex)),
        };
        graph.vertices().map(colour).collect()
    }

    fn coloured(&self, side: usize, free: &[u32], colours: &[Vec<u64>; 2]) -> Vec<u64> {
        let graph = self.graphs[side];
        let colour = |vertex: &u32| {
            let around =
                graph.edges(*vertex).iter().map(|edge| mix(edge.label, colours[side][edge.to as usize]));
            mix(graph.rated[*vertex as usize], around.fold(0, u64::wrapping_add))
        };
        free.iter().map(colour).collect()
    }

    /// Matches what has a colour of its own on both sides. At the deepest level those that are left alike are twins: any of
    /// them may be any other, and what is around one goes with it.
    fn pair_by_colour(
        &mut self,
        free: &[Vec<u32>; 2],
        level: &[Vec<u64>; 2],
        deepest: Option<&[Vec<u64>; 2]>,
    ) -> bool {
        let mut rows: Vec<(u64, usize, u32)> = Vec::new();
        for side in [0, 1] {
            rows.extend(free[side].iter().zip(&level[side]).map(|(vertex, colour)| (*colour, side, *vertex)));
        }
        rows.sort_unstable();
        let (mut any, mut twins) = (false, Vec::new());
        for group in rows.chunk_by(|a, b| a.0 == b.0) {
            let (left, right) = group.split_at(group.partition_point(|row| row.1 == 0));
            match (left, right) {
                ([], _) | (_, []) => {}
                ([a], [b]) if self.alike(a.2, b.2) => {
                    self.pair(a.2, b.2);
                    any = true;
                }
                _ => twins.push((left, right)),
            }
        }
        let Some(colours) = deepest else { return any };
        for (left, right) in twins {
            let of = |rows: &[(u64, usize, u32)]| rows.iter().map(|row| row.2).collect();
            for (a, b) in self.in_order(of(left), of(right)) {
                if self.is_free(0, a) && self.is_free(1, b) && self.alike(a, b) {
                    self.pair(a, b);
                    self.follow(a, b, colours);
                    any = true;
                }
            }
        }
        any
    }

    fn alike(&self, a: u32, b: u32) -> bool {
        let [old, new] = self.graphs;
        old.sort(a) == new.sort(b) && old.rated[a as usize] == new.rated[b as usize]
    }

    /// Twins side by side: those of one name, then the others by their names in the order that people count in.
    fn in_order(&self, mut left: Vec<u32>, mut right: Vec<u32>) -> Vec<(u32, u32)> {
        let [old, new] = self.graphs;
        left.retain(|at| self.is_free(0, *at));
        right.retain(|at| self.is_free(1, *at));
        let names: FxHashMap<&str, u32> = right.iter().map(|at| (new.name(*at), *at)).collect();
        let mut pairs: Vec<(u32, u32)> =
            left.iter().filter_map(|at| names.get(old.name(*at)).map(|mate| (*at, *mate))).collect();
        let taken: [FxHashSet<u32>; 2] =
            [pairs.iter().map(|pair| pair.0).collect(), pairs.iter().map(|pair| pair.1).collect()];
        left.retain(|at| !taken[0].contains(at));
        right.retain(|at| !taken[1].contains(at));
        // A name that the other design still has may yet find its own.
        let kept = |side: usize, vertex: u32| {
            let mate = self.by_name[1 - side].get(self.graphs[side].name(vertex));
            mate.is_some_and(|mate| self.is_free(1 - side, *mate))
        };
        left.sort_by(|a, b| kept(0, *a).cmp(&kept(0, *b)).then_with(|| counted(old.name(*a), old.name(*b))));
        right.sort_by(|a, b| kept(1, *a).cmp(&kept(1, *b)).then_with(|| counted(new.name(*a), new.name(*b))));
        pairs.extend(left.into_iter().zip(right));
        pairs
    }

    /// What is around a matched pair of twins goes with it, as far as it is alike.
    fn follow(&mut self, a: u32, b: u32, colours: &[Vec<u64>; 2]) {
        let mut next = vec![(a, b)];
        while let Some((a, b)) = next.pop() {
            let around = |side: usize, vertex: u32| {
                let mut around: Vec<(u64, u32)> = self.graphs[side]
                    .edges(vertex)
                    .iter()
                    .filter(|edge| self.is_free(side, edge.to))
                    .map(|edge| (mix(edge.label, colours[side][edge.to as usize]), edge.to))
                    .collect();
                around.sort_unstable();
                around
            };
            let (left, right) = (around(0, a), around(1, b));
            let (mut i, mut j) = (0, 0);
            while let (Some(one), Some(other)) = (left.get(i), right.get(j)) {
                match one.0.cmp(&other.0) {
                    Ordering::Less => i += 1,
                    Ordering::Greater => j += 1,
                    Ordering::Equal => {
                        let run = |rows: &[(u64, u32)], from: usize| {
                            rows[from..]
                                .iter()
                                .take_while(|row| row.0 == one.0)
                                .map(|row| row.1)
                                .collect::<Vec<_>>()
                        };
                        let (these, those) = (run(&left, i), run(&right, j));
                        (i, j) = (i + these.len(), j + those.len());
                        for (a, b) in self.in_order(these, those) {
                            if self.is_free(0, a) && self.is_free(1, b) && self.alike(a, b) {
                                self.pair(a, b);
                                next.push((a, b));
                            }
                        }
                    }
                }
            }
        }
    }

    /// Matches what shares more than half of what it is joined to, and is the only one to do so.
    fn vote(&mut self) -> bool {
        let mut at: FxHashMap<u64, Vec<u32>> = FxHashMap::default();
        let key = |matching: &Self, side: usize, edge: &super::graph::Edge| {
            (!matching.is_free(side, edge.to)).then(|| mix(edge.label, matching.pair_key(side, edge.to)))
        };
        for b in self.free(1) {
            for edge in self.graphs[1].edges(b) {
                if let Some(key) = key(self, 1, edge) {
                    at.entry(key).or_default().push(b);
                }
            }
        }
        let mut votes: FxHashMap<(u32, u32), usize> = FxHashMap::default();
        for a in self.free(0) {
            for edge in self.graphs[0].edges(a) {
                let Some(there) = key(self, 0, edge).and_then(|key| at.get(&key)) else { continue };
                if CROWD < there.len() {
                    continue;
                }
                for b in there.iter().filter(|b| self.alike(a, **b)) {
                    *votes.entry((a, *b)).or_default() += 1;
                }
            }
        }
        let [old, new] = self.graphs;
        let mut won: Vec<(u32, u32)> = votes
            .into_iter()
            .filter(|((a, b), votes)| old.edges(*a).len().max(new.edges(*b).len()) < 2 * votes)
            .map(|(pair, _)| pair)
            .collect();
        won.sort_unstable();
        let count = |of: fn(&(u32, u32)) -> u32| {
            let mut count: FxHashMap<u32, usize> = FxHashMap::default();
            won.iter().for_each(|pair| *count.entry(of(pair)).or_default() += 1);
            count
        };
        let (lefts, rights) = (count(|pair| pair.0), count(|pair| pair.1));
        won.retain(|pair| lefts.get(&pair.0) == Some(&1) && rights.get(&pair.1) == Some(&1));
        for (a, b) in &won {
            self.pair(*a, *b);
        }
        !won.is_empty()
    }

    // What has the same name, if nothing else.

    fn by_name(&mut self) {
        let [old, new] = self.graphs;
        for a in self.free(0) {
            let Some(&b) = self.by_name[1].get(self.called(a).as_ref()) else { continue };
            if self.is_free(1, b) && old.sort(a) == new.sort(b) {
                self.pair(a, b);
            }
        }
    }

    // Second thoughts.

    /// Takes back what was matched under two names and has turned out not to be joined to the same.
    fn doubt(&mut self) {
        for _ in 0..PASSES {
            let wrong: Vec<(u32, u32)> = self
                .pairs()
                .filter(|pair| self.is_renamed(pair.0, pair.1) && !self.holds(pair.0, pair.1))
                .collect();
            if wrong.is_empty() {
                break;
            }
            for (a, b) in wrong {
                self.part(a, b);
            }
            self.by_name();
        }
    }

    fn holds(&self, a: u32, b: u32) -> bool {
        let [old, new] = self.graphs;
        let most = old.edges(a).len().max(new.edges(b).len());
        let kept = self.kept(a, b);
        // A wire is known by both its ends; a bar may have got one more.
        self.alike(a, b) && (kept == most || (!old.has_ends(a) && most < 2 * kept))
    }

    /// How many of the edges of two lead to the same.
    fn kept(&self, a: u32, b: u32) -> usize {
        let [old, new] = self.graphs;
        let left = old.edges(a).iter().map(|edge| (edge.label, self.mate[0][edge.to as usize]));
        let right = new.edges(b).iter().map(|edge| (edge.label, edge.to));
        let (mut left, mut right): (Vec<_>, Vec<_>) = (left.collect(), right.collect());
        left.sort_unstable();
        right.sort_unstable();
        shared(&left, &right)
    }

    /// Names that have only changed places keep them where it takes no more to say what moved.
    fn untangle(&mut self) {
        let renamed: Vec<(u32, u32)> = self.pairs().filter(|pair| self.is_renamed(pair.0, pair.1)).collect();
        let mut seen: FxHashSet<u32> = FxHashSet::default();
        for (start, _) in renamed {
            let Some(circle) = self.circle(start, &mut seen) else { continue };
            let before: Vec<(u32, u32)> = circle.iter().map(|a| (*a, self.mate[0][*a as usize])).collect();
            let [old, _] = self.graphs;
            for a in &circle {
                if let Some(&b) = self.by_name[1].get(old.name(*a)) {
                    self.pair(*a, b);
                }
            }
            if circle.len() < self.cost(&circle) {
                for (a, b) in before {
                    self.pair(a, b);
                }
            }
        }
    }

    /// The renamed vertices whose names went round among them, from one of them.
    fn circle(&self, start: u32, seen: &mut FxHashSet<u32>) -> Option<Vec<u32>> {
        let [old, new] = self.graphs;
        let (mut circle, mut at) = (Vec::new(), start);
        loop {
            if !seen.insert(at) {
                return (at == start && !circle.is_empty()).then_some(circle);
            }
            circle.push(at);
            let mate = self.new_of(at)?;
            at = *self.by_name[0].get(new.name(mate))?;
            if old.sort(at) != old.sort(start) {
                return None;
            }
        }
    }

    /// How many things would have to be said of these, as they are matched now.
    fn cost(&self, circle: &[u32]) -> usize {
        let [old, new] = self.graphs;
        let mut conductors: FxHashSet<u32> = FxHashSet::default();
        let mut cost = 0;
        for a in circle {
            let Some(b) = self.new_of(*a) else { continue };
            if old.has_ends(*a) {
                conductors.insert(*a);
                continue;
            }
            conductors.extend(old.edges(*a).iter().map(|edge| edge.to).filter(|to| old.has_ends(*to)));
            let own = |graph: &Graph<'_>, vertex: u32| {
                graph.edges(vertex).iter().filter(|edge| !graph.has_ends(edge.to)).count()
            };
            let with_ends = old.edges(*a).iter().filter(|edge| {
                let mate = self.mate[0][edge.to as usize];
                old.has_ends(edge.to)
                    && new.edges(b).iter().any(|other| other.to == mate && other.label == edge.label)
            });
            let kept_own = self.kept(*a, b).saturating_sub(with_ends.count());
            cost += usize::from(old.rated[*a as usize] != new.rated[b as usize]);
            cost += own(old, *a).max(own(new, b)).saturating_sub(kept_own);
        }
        let told = |a: &u32| match self.new_of(*a) {
            Some(b) => {
                let moved = self.kept(*a, b) < old.edges(*a).len().max(new.edges(b).len());
                usize::from(!self.alike(*a, b)) + usize::from(moved)
            }
            None => 1,
        };
        cost + conductors.iter().map(told).sum::<usize>()
    }

    // Fits.

    /// Fits by name; the others by what was found in them under the same name inside.
    fn match_fits(&mut self) {
        let [old, new] = self.graphs.map(|graph| graph.design);
        let named: FxHashMap<&str, FitId> =
            new.fits.entries().map(|(id, fit)| (fit.name.as_str(), id)).collect();
        self.fit_mate.iter_mut().for_each(|mates| mates.fill(NONE));
        for (id, fit) in old.fits.entries() {
            if let Some(other) = named.get(fit.name.as_str()) {
                self.fit_mate[0][id.index()] = other.0;
                self.fit_mate[1][other.index()] = id.0;
            }
        }
        if old.fits.is_empty() || new.fits.is_empty() {
            return;
        }
        let mut votes: FxHashMap<(FitId, FitId), usize> = FxHashMap::default();
        for (a, b) in self.pairs() {
            let [mut one, mut other] = [self.graphs[0].fit(a), self.graphs[1].fit(b)];
            let [a, b] = [self.graphs[0].name(a), self.graphs[1].name(b)];
            while let (Some(here), Some(there)) = (one, other) {
                let inside = |design: &'d crate::design::Design, fit: FitId, name: &'d str| {
                    name.strip_prefix(design.fits[fit].name.as_str())
                };
                if inside(old, here, a) == inside(new, there, b) && old.fits[here].kit == new.fits[there].kit
                {
                    *votes.entry((here, there)).or_default() += 1;
                }
                (one, other) = (old.fits[here].parent, new.fits[there].parent);
            }
        }
        let mut votes: Vec<(usize, (FitId, FitId))> = votes.into_iter().map(|(pair, n)| (n, pair)).collect();
        votes.sort_by(|a, b| {
            let names = |pair: &(FitId, FitId)| (&old.fits[pair.0].name, &new.fits[pair.1].name);
            b.0.cmp(&a.0).then_with(|| names(&a.1).cmp(&names(&b.1)))
        });
        for (_, (one, other)) in votes {
            if self.fit_mate[0][one.index()] == NONE && self.fit_mate[1][other.index()] == NONE {
                self.fit_mate[0][one.index()] = other.0;
                self.fit_mate[1][other.index()] = one.0;
            }
        }
    }
}

/// How many two sorted lists have in common, each as often as in both.
fn shared<T: Ord>(left: &[T], right: &[T]) -> usize {
    let (mut i, mut j, mut shared) = (0, 0, 0);
    while let (Some(a), Some(b)) = (left.get(i), right.get(j)) {
        match a.cmp(b) {
            Ordering::Less => i += 1,
            Ordering::Greater => j += 1,
            Ordering::Equal => (i, j, shared) = (i + 1, j + 1, shared + 1),
        }
    }
    shared
}

/// Names in the order that people count in: `F2` before `F10`.
pub(super) fn counted(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (pieces(a), pieces(b));
    loop {
        let order = match (left.next(), right.next()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => Ordering::Less,
            (Some(_), None) => Ordering::Greater,
            (Some(a), Some(b)) if is_digits(a) && is_digits(b) => {
                let [a, b] = [a, b].map(|digits| digits.trim_start_matches('0'));
                a.len().cmp(&b.len()).then_with(|| a.cmp(b))
            }
            (Some(a), Some(b)) => a.cmp(b),
        };
        if order != Ordering::Equal {
            return order;
        }
    }
}

fn is_digits(piece: &str) -> bool {
    piece.starts_with(|one: char| one.is_ascii_digit())
}

/// Runs of digits, and what stands between them.
fn pieces(name: &str) -> impl Iterator<Item = &str> {
    let mut rest = name;
    std::iter::from_fn(move || {
        let digits = is_digits(rest);
        let end = rest.find(|one: char| one.is_ascii_digit() != digits).unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        rest = after;
        (!piece.is_empty()).then_some(piece)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_as_people_do() {
        let mut names = ["F10", "F2", "F1b", "F01", "F1", "G1", "F"];
        names.sort_by(|a, b| counted(a, b));
        assert_eq!(names, ["F", "F01", "F1", "F1b", "F2", "F10", "G1"]);
    }

    #[test]
    fn counts_what_is_shared() {
        assert_eq!(shared(&[1, 1, 2, 4], &[1, 2, 2, 3, 4]), 3);
        assert_eq!(shared::<u8>(&[], &[1]), 0);
    }
}
