//! `--share N/M`: one of several runs that a fleet is split over.

use ohmward::render::{Asked, ShareEntry};
use ohmward::text::Digest;

use super::find::Found;

/// Most runs that a fleet is split over.
const MOST: u32 = 100_000;

/// One of several shares.
#[derive(Debug, Clone, Copy)]
pub(super) struct Share {
    number: u32,
    of: u32,
}

impl Share {
    /// Reads `3/8`.
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let whole =
            |text: &str| text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten();
        match text.split_once('/').map(|(number, of)| (whole(number), whole(of))) {
            Some((Some(number), Some(of))) if (1..=of).contains(&number) && of <= MOST => {
                Ok(Self { number, of })
            }
            _ => Err(format!("a share is written as in 3/8, the third of eight; there are at most {MOST}")),
        }
    }

    /// Takes every so-manieth, so that designs that lie together are spread.
    pub(super) fn take(self, found: Vec<Found>, asked: Asked) -> (Vec<Found>, ShareEntry) {
        let n_found = found.len();
        let paths: Vec<&[u8]> = found.iter().map(|one| one.shown.as_bytes()).collect();
        let list = Digest::of(&paths).to_string();
        let (of, first) = (self.of as usize, self.number as usize - 1);
        let taken: Vec<Found> = found.into_iter().skip(first).step_by(of).collect();
        let entry =
            ShareEntry { number: self.number, of: self.of, files: taken.len(), found: n_found, list, asked };
        (taken, entry)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_one_is_in_exactly_one_share() {
        for count in 0..40 {
            for of in 1..=45 {
                let mut all = Vec::new();
                for number in 1..=of {
                    let found = (0..count).map(|at| Found::at(format!("{at:02}.loom").into())).collect();
                    let (taken, entry) = Share { number, of }.take(found, Asked::default());
                    assert_eq!((entry.files, entry.found), (taken.len(), count));
                    all.extend(taken.into_iter().map(|one| one.shown));
                }
                all.sort_unstable();
                assert_eq!(all, (0..count).map(|at| format!("{at:02}.loom")).collect::<Vec<_>>());
            }
        }
    }

    #[test]
    fn what_is_no_share_is_refused() {
        for text in [
            "", "3", "3/", "/8", "0/8", "9/8", "-1/8", "+1/8", "1/0", "0/0", "1/8/2", "1.5/3", "1/100001",
            " 1/2",
        ] {
            assert!(Share::parse(text).is_err(), "{text}");
        }
        assert!(Share::parse("8/8").is_ok());
    }
}
