//! Books that many designs name: read once.

use std::sync::{Mutex, MutexGuard, PoisonError};

use rustc_hash::FxHashMap;

use super::{Book, Unread};
use crate::text::{Answers, FileId, Files, Recorded, Sources};

/// Most books that are kept.
const MOST: usize = 64;

/// Books without a mistake, by name, path and their place among a design's files, with what reading them asked for. May be
/// shared by threads.
#[derive(Debug, Default)]
pub struct Books(Mutex<Kept>);

type Kept = FxHashMap<(String, String, FileId), (Answers, Book)>;

impl Books {
    /// As [`Book::read`]; a book that another design of the run read from the same texts is not read again.
    ///
    /// # Errors
    /// As [`Book::read`].
    pub fn read(
        &self,
        name: &str,
        path: &str,
        files: &dyn Files,
        sources: &mut Sources,
    ) -> Result<Book, Unread> {
        let key = (name.to_owned(), path.to_owned(), sources.next());
        let kept = self.kept().get(&key).cloned();
        if let Some((answers, book)) = kept
            && let Some(texts) = answers.again(files)
        {
            for text in texts {
                sources.add(text);
            }
            return Ok(book);
        }
        let recorded = Recorded::new(files);
        let book = Book::read(name, path, &recorded, sources)?;
        let mut kept = self.kept();
        if MOST <= kept.len() {
            kept.clear();
        }
        kept.insert(key, (recorded.answers(), book.clone()));
        Ok(book)
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
