//! What a judgement asked of the files around it, and what it was told: while the answers are the same, so is the judgement.

use std::sync::{Mutex, PoisonError};

use serde::{Deserialize, Serialize};

use super::{Digest, Files, LocateError, ReadError, Source, as_text};

/// A question with its answer; a text is answered by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
enum Answer {
    Text { path: String, digest: Result<Digest, String> },
    Located { from: String, relative: String, found: Result<String, LocateError> },
}

/// Everything that was asked, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answers(Vec<Answer>);

impl Answers {
    /// Asks all of it again: the texts that were read, in order, or `None` where an answer differs.
    #[must_use]
    pub fn again(&self, files: &dyn Files) -> Option<Vec<Source>> {
        let mut texts = Vec::new();
        for answer in &self.0 {
            match answer {
                Answer::Text { path, digest } => {
                    let text = files.text(path);
                    if text.as_ref().map(Source::digest) != digest.as_ref().copied() {
                        return None;
                    }
                    texts.extend(text);
                }
                Answer::Located { from, relative, found } => {
                    if files.locate(from, relative) != *found {
                        return None;
                    }
                }
            }
        }
        Some(texts)
    }
}

/// Files whose answers are written down.
pub struct Recorded<'f> {
    files: &'f dyn Files,
    answers: Mutex<Vec<Answer>>,
}

impl<'f> Recorded<'f> {
    /// Writes down what these files answer.
    #[must_use]
    pub fn new(files: &'f dyn Files) -> Self {
        Self { files, answers: Mutex::default() }
    }

    /// What was asked so far.
    #[must_use]
    pub fn answers(self) -> Answers {
        Answers(self.answers.into_inner().unwrap_or_else(PoisonError::into_inner))
    }

    fn note(&self, answer: Answer) {
        self.answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
    }
}

impl Files for Recorded<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        let bytes = self.files.read(path);
        let digest = as_text(path, bytes.clone()).map(|text| text.digest());
        self.note(Answer::Text { path: path.into(), digest });
        bytes
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        let found = self.files.locate(from, relative);
        self.note(Answer::Located { from: from.into(), relative: relative.into(), found: found.clone() });
        found
    }

    fn text(&self, path: &str) -> Result<Source, String> {
        let text = self.files.text(path);
        let digest = text.as_ref().map(Source::digest).map_err(Clone::clone);
        self.note(Answer::Text { path: path.into(), digest });
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::MemoryFiles;

    fn files() -> MemoryFiles {
        MemoryFiles::default().with("a.loom", "a").with("lib/b.loom", "b").with("other.loom", "o")
    }

    fn answers() -> Answers {
        let files = files();
        let recorded = Recorded::new(&files);
        recorded.text("a.loom").unwrap();
        let found = recorded.locate("a.loom", "lib/b.loom").unwrap();
        recorded.text(&found).unwrap();
        recorded.locate("a.loom", "lib/none.loom").unwrap_err();
        recorded.text("gone.loom").unwrap_err();
        recorded.answers()
    }

    #[test]
    fn holds_while_every_answer_is_the_same() {
        let answers = answers();
        let texts = answers.again(&files()).expect("nothing changed");
        assert_eq!(texts.iter().map(Source::path).collect::<Vec<_>>(), ["a.loom", "lib/b.loom"]);
        assert!(answers.again(&files().with("other.loom", "changed")).is_some(), "nobody asked for it");
        for (path, text) in
            [("a.loom", "A"), ("lib/b.loom", "bb"), ("lib/none.loom", "now there"), ("gone.loom", "")]
        {
            assert!(answers.again(&files().with(path, text)).is_none(), "{path}");
        }
        assert!(answers.again(&MemoryFiles::default().with("a.loom", "a")).is_none());
    }
}
