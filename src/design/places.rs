//! A design without the places where it was written, so that two texts can be held against each other.

use crate::text::{FileId, Span};

use super::model::{Body, Claim, Design, End, Measured, Place};

impl Design {
    /// The same design with every span at the start of the text; equal to another one's if the two texts say the same.
    #[must_use]
    pub fn without_places(mut self) -> Self {
        self.name_span = None;
        if let Some((_, span)) = &mut self.book {
            forget(span);
        }
        for limit in &mut self.limits {
            forget(&mut limit.name_span);
            forget(&mut limit.value_span);
        }
        self.zones.iter_mut().for_each(|one| place(&mut one.place));
        self.fits.iter_mut().for_each(|one| forget(&mut one.span));
        for component in self.components.iter_mut() {
            place(&mut component.place);
            match &mut component.body {
                Body::Fuse(fuse) => forget(&mut fuse.rating_span),
                Body::Breaker(breaker) => forget(&mut breaker.rating_span),
                _ => {}
            }
        }
        for wire in self.wires.iter_mut() {
            place(&mut wire.place);
            ends([&mut wire.from, &mut wire.to]);
            forget(&mut wire.size_span);
        }
        for lead in self.data.iter_mut() {
            place(&mut lead.place);
            ends([&mut lead.from, &mut lead.to]);
        }
        for joint in &mut self.joints {
            place(&mut joint.place);
            ends([&mut joint.a, &mut joint.b]);
        }
        self.bundles.iter_mut().for_each(|one| place(&mut one.place));
        for mode in self.modes.iter_mut() {
            place(&mut mode.place);
            mode.lines.iter_mut().for_each(|line| forget(&mut line.span));
        }
        for expect in &mut self.expects {
            place(&mut expect.place);
            if let Claim::Above(end, _) | Claim::Below(end, _) = &mut expect.claim {
                ends([end]);
            }
        }
        for reading in &mut self.readings {
            place(&mut reading.place);
            match &mut reading.measured {
                Measured::Meter(..) => {}
                Measured::Voltage(end, _) => ends([end]),
                Measured::Drop(a, b, _) => ends([a, b]),
            }
        }
        self.settings.iter_mut().for_each(|one| place(&mut one.place));
        for stack in &mut self.stacks {
            place(&mut stack.place);
            ends([&mut stack.node]);
        }
        self.notes.iter_mut().for_each(|one| place(&mut one.place));
        for waiver in &mut self.waivers {
            place(&mut waiver.place);
            forget(&mut waiver.rule_span);
        }
        self
    }
}

fn forget(span: &mut Span) {
    *span = Span::new(FileId(0), 0, 0);
}

fn place(place: &mut Place) {
    forget(&mut place.span);
}

fn ends<const N: usize>(ends: [&mut End; N]) {
    ends.into_iter().for_each(|end| forget(&mut end.span));
}
