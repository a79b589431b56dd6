//! The past of a voyage: a list that branches share.

use std::sync::Arc;

use super::Leg;
use crate::time::Epoch;

/// What was added to the record.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// A leg.
    Leg(Box<Leg>),
    /// A note.
    Note(Note),
}

/// A note in the record of a voyage.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// When it was written.
    pub epoch: Epoch,
    /// What it says.
    pub text: String,
}

/// A list whose newest item comes first and whose tail is shared: adding and cloning cost the same at any length.
#[derive(Debug, Clone, Default)]
pub(super) struct Past {
    newest: Option<Arc<Link>>,
}

#[derive(Debug)]
struct Link {
    mark: Mark,
    before: Option<Arc<Link>>,
}

impl Past {
    /// Add an item.
    pub(super) fn push(&mut self, mark: Mark) {
        let before = self.newest.take();
        self.newest = Some(Arc::new(Link { mark, before }));
    }

    /// From the newest to the oldest.
    pub(super) fn newest_first(&self) -> impl Iterator<Item = &Mark> {
        std::iter::successors(self.newest.as_deref(), |link| link.before.as_deref()).map(|link| &link.mark)
    }

    /// From the oldest to the newest.
    pub(super) fn oldest_first(&self) -> Vec<&Mark> {
        let mut marks: Vec<&Mark> = self.newest_first().collect();
        marks.reverse();
        marks
    }

    /// Whether two records are one and the same in memory.
    #[cfg(test)]
    pub(super) fn shares(&self, other: &Past) -> bool {
        match (&self.newest, &other.newest) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        }
    }
}

impl Drop for Past {
    /// Link by link: the nested drop of a long record would run out of stack.
    fn drop(&mut self) {
        let mut next = self.newest.take();
        while let Some(link) = next {
            next = match Arc::try_unwrap(link) {
                Ok(mut last) => last.before.take(),
                Err(_) => None,
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(text: &str) -> Mark {
        Mark::Note(Note { epoch: Epoch::J2000, text: text.into() })
    }

    #[test]
    fn branches_share_what_came_before_them() {
        let mut past = Past::default();
        past.push(note("one"));
        let mut branch = past.clone();
        assert!(branch.shares(&past));
        branch.push(note("two"));
        assert_eq!(past.newest_first().count(), 1);
        assert_eq!(branch.oldest_first(), vec![&note("one"), &note("two")]);
    }

    #[test]
    fn a_long_record_is_dropped_without_running_out_of_stack() {
        let mut past = Past::default();
        for _ in 0..1_000_000 {
            past.push(note(""));
        }
        let branch = past.clone();
        drop(past);
        assert_eq!(branch.newest_first().count(), 1_000_000);
    }
}
