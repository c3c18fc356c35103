//! Paths as URIs, and texts made safe to stand in one.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

use crate::findings::Identity;

/// What a part of a path is written with as it is (RFC 3986, `unreserved`), everything else by its bytes.
const PART: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~');
const PATH: &AsciiSet = &PART.remove(b'/');

/// A path as a URI: an absolute one with the scheme `file`, any other relative to the current folder.
pub(super) fn of_path(path: &str) -> String {
    let slashed = if cfg!(windows) { path.replace('\\', "/") } else { path.to_owned() };
    let encoded = utf8_percent_encode(&slashed, PATH).to_string();
    match (slashed.starts_with('/'), cfg!(windows) && slashed.get(1..3) == Some(":/")) {
        // What begins with two slashes on Windows has its host there.
        (true, _) if cfg!(windows) && slashed.starts_with("//") => format!("file:{encoded}"),
        (true, _) => format!("file://{encoded}"),
        (_, true) => format!("file:///{}", encoded.replacen("%3A", ":", 1)),
        _ => encoded,
    }
}

/// A finding's identity in one word: rule, subject, ordinal, the design's path. Two findings of a run never share one.
pub(super) fn fingerprint(identity: &Identity, path: &str) -> String {
    let Identity { rule, subject, ordinal } = identity;
    let (subject, path) = (utf8_percent_encode(subject, PART), utf8_percent_encode(path, PATH));
    format!("{rule}/{subject}/{ordinal}/{path}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_encoded() {
        assert_eq!(of_path("boats/a.loom"), "boats/a.loom");
        assert_eq!(of_path("../a b/ø%?#:[x].loom"), "../a%20b/%C3%B8%25%3F%23%3A%5Bx%5D.loom");
        assert_eq!(of_path("/srv/a\n.loom").replace("file://", ""), "/srv/a%0A.loom");
    }

    #[test]
    fn fingerprints_cannot_be_mistaken() {
        let of = |subject: &str, ordinal, path: &str| {
            fingerprint(&Identity { rule: "a.b".into(), subject: subject.into(), ordinal }, path)
        };
        assert_eq!(of("W1", 1, "x/y.loom"), "a.b/W1/1/x/y.loom");
        assert_ne!(of("W1/1", 2, "x"), of("W1", 1, "2/x"));
    }
}
