//! Judgements as bytes, to be kept from one run to the next: with everything that they were made from, so that one that
//! would come out otherwise today is never taken for today's.

use serde::{Deserialize, Serialize};

use crate::check::{Judgement, Options, Shared, WireEvidence};
use crate::design::Date;
use crate::findings::Finding;
use crate::text::{Answers, Digest, Files, Sources};

/// What the bytes begin with.
const MARK: &[u8] = b"ohmward judgement\n";

/// What is kept of a judgement.
#[derive(Debug, Serialize, Deserialize)]
struct Kept {
    /// The texts that it was made from, the design's own first.
    answers: Answers,
    /// The first and the last day on which its waivers stand as they did.
    from: Option<Date>,
    until: Option<Date>,
    design: Option<String>,
    book: String,
    findings: Vec<Finding>,
    wires: Option<Vec<WireEvidence>>,
    n_elements: usize,
    library: bool,
    /// The book has rules of its own, which are looked up in it again.
    house: bool,
}

/// What a judgement is filed under: what judges, how it is asked, and the design's path. There is one for each, so that a
/// store of them grows with the fleet and not with its history.
#[must_use]
pub fn slot(program: &Digest, options: &Options, path: &str) -> Digest {
    let Options { book, only, without, today: _, without_study, explain, most_elements } = options;
    let asked = serde_json::to_vec(&(book, only, without, without_study, explain, most_elements));
    Digest::of(&[program.bytes(), &asked.unwrap_or_default(), path.as_bytes()])
}

/// A judgement of the day of `options` as bytes, which are its own slot's alone; `None` for one that is not kept, as its
/// design could not be read at all.
#[must_use]
pub fn pack(slot: &Digest, judgement: &Judgement, answers: Answers, options: &Options) -> Option<Vec<u8>> {
    if judgement.unreadable.is_some() {
        return None;
    }
    let (over, ahead): (Vec<Date>, Vec<Date>) =
        judgement.waived_until.iter().partition(|until| **until < options.today);
    let kept = Kept {
        answers,
        from: over.into_iter().max(),
        until: ahead.into_iter().min(),
        design: judgement.design.clone(),
        book: judgement.book.clone(),
        findings: judgement.findings.clone(),
        wires: judgement.wires.clone(),
        n_elements: judgement.n_elements,
        library: judgement.library,
        house: !judgement.house.is_empty(),
    };
    let body = postcard::to_stdvec(&kept).ok()?;
    Some([MARK, Digest::of(&[slot.bytes(), &body]).bytes(), &body].concat())
}

/// The judgement again; `None` where the bytes are damaged or another slot's, or where anything that it was made from is
/// different now.
#[must_use]
pub fn unpack(
    slot: &Digest,
    bytes: &[u8],
    shared: &Shared,
    path: &str,
    files: &dyn Files,
    options: &Options,
) -> Option<Judgement> {
    let (digest, body) = bytes.strip_prefix(MARK)?.split_first_chunk::<32>()?;
    if Digest::of(&[slot.bytes(), body]).bytes() != digest {
        return None;
    }
    let kept: Kept = postcard::from_bytes(body).ok()?;
    let today = options.today;
    if kept.from.is_some_and(|over| today <= over) || kept.until.is_some_and(|until| until < today) {
        return None;
    }
    let mut sources = Sources::default();
    for text in kept.answers.again(files)? {
        sources.add(text);
    }
    let mut judgement = Judgement {
        design: kept.design,
        book: kept.book,
        findings: kept.findings,
        wires: kept.wires,
        n_elements: kept.n_elements,
        library: kept.library,
        unreadable: None,
        sources,
        ..Judgement::failed(path, String::new())
    };
    if kept.house {
        let located = files.locate(path, &judgement.book).ok()?;
        let book = shared.books.read(&judgement.book, &located, files, &mut Sources::default()).ok()?;
        judgement.house = book.house_rules().to_vec();
    }
    Some(judgement)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::check_among;
    use crate::text::{MemoryFiles, Recorded};

    const DESIGN: &str = "design d \"t\"\nbattery b lifepo4 12 V 100 Ah\nload f 12 V 36 W\n\
        wire A from b.+ to f.+ 2.5 mm2 1 m black\nwire B from f.- to b.- 2.5 mm2 1 m\n\
        waive protection.missing on A because \"a bench\" until 2027-03-31\n";

    fn options(today: &str) -> Options {
        Options { explain: true, ..Options::on(Date::parse(today).unwrap()) }
    }

    fn here() -> Digest {
        slot(&Digest::of(&[b"one"]), &options("2027-01-01"), "d.loom")
    }

    fn files(design: &str) -> MemoryFiles {
        MemoryFiles::default().with("d.loom", design)
    }

    fn told(judgement: &Judgement) -> String {
        // On which days it holds is not part of what is told.
        format!("{:#?}", Judgement { waived_until: Vec::new(), ..judgement.clone() })
    }

    fn packed(today: &str) -> (Judgement, Vec<u8>) {
        let files = files(DESIGN);
        let recorded = Recorded::new(&files);
        let judgement = check_among(&Shared::default(), "d.loom", &recorded, &options(today));
        let bytes = pack(&here(), &judgement, recorded.answers(), &options(today)).unwrap();
        (judgement, bytes)
    }

    fn again(bytes: &[u8], design: &str, today: &str) -> Option<Judgement> {
        unpack(&here(), bytes, &Shared::default(), "d.loom", &files(design), &options(today))
    }

    #[test]
    fn comes_out_as_it_went_in() {
        let (judgement, bytes) = packed("2027-01-01");
        assert!(2 < judgement.findings.len(), "{:?}", judgement.findings);
        let again = again(&bytes, DESIGN, "2027-03-31").expect("nothing changed");
        assert_eq!(told(&again), told(&judgement));
    }

    #[test]
    fn holds_while_waivers_stand_as_they_did() {
        let (_, bytes) = packed("2027-01-01");
        assert!(again(&bytes, DESIGN, "2027-04-01").is_none(), "the waiver has ended");
        let (_, bytes) = packed("2027-04-01");
        assert!(again(&bytes, DESIGN, "2027-03-31").is_none(), "the waiver has not ended");
        assert!(again(&bytes, DESIGN, "2031-01-01").is_some());
    }

    #[test]
    fn another_text_and_damaged_bytes_are_not_taken() {
        let (_, bytes) = packed("2027-01-01");
        assert!(again(&bytes, &DESIGN.replace("36 W", "48 W"), "2027-01-01").is_none());
        for length in 0..bytes.len() {
            assert!(again(&bytes[..length], DESIGN, "2027-01-01").is_none(), "torn after {length}");
        }
        for at in 0..bytes.len() {
            let mut bytes = bytes.clone();
            bytes[at] ^= 0x10;
            assert!(again(&bytes, DESIGN, "2027-01-01").is_none(), "byte {at}");
        }
    }

    /// An entry that lies under another's name is none.
    #[test]
    fn bytes_of_another_slot_are_not_taken() {
        let (_, bytes) = packed("2027-01-01");
        let here = here();
        let there = slot(&Digest::of(&[b"one"]), &options("2027-01-01"), "e.loom");
        let files = files(DESIGN);
        let taken = |slot| unpack(slot, &bytes, &Shared::default(), "d.loom", &files, &options("2027-01-01"));
        assert!(taken(&here).is_some() && taken(&there).is_none());
    }

    #[test]
    fn a_slot_for_each_way_of_asking() {
        let program = Digest::of(&[b"one"]);
        let first = slot(&program, &options("2027-01-01"), "d.loom");
        assert_eq!(first, slot(&program, &options("2027-01-02"), "d.loom"));
        assert_ne!(first, slot(&Digest::of(&[b"two"]), &options("2027-01-01"), "d.loom"));
        assert_ne!(first, slot(&program, &options("2027-01-01"), "e.loom"));
        let without = Options { without: vec!["protection.missing".into()], ..options("2027-01-01") };
        assert_ne!(first, slot(&program, &without, "d.loom"));
    }
}
