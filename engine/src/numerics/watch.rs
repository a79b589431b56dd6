//! The value that every long loop polls, so that a user can interrupt it.

/// Asks, between two steps of a long loop, whether to stop. Shared freely between threads.
#[derive(Clone, Copy, Default)]
pub struct Watch<'a> {
    asked: Option<&'a (dyn Fn() -> bool + Sync)>,
}

impl<'a> Watch<'a> {
    /// Never stops.
    pub const fn none() -> Self {
        Self { asked: None }
    }

    /// Stops once the question is answered with yes.
    pub const fn new(asked: &'a (dyn Fn() -> bool + Sync)) -> Self {
        Self { asked: Some(asked) }
    }

    /// Whether the loop shall end now.
    pub fn stopped(&self) -> bool {
        self.asked.is_some_and(|asked| asked())
    }
}

impl std::fmt::Debug for Watch<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(if self.asked.is_some() { "Watch" } else { "Watch::none()" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn asks_every_time() {
        let polls = AtomicU32::new(0);
        let third = || polls.fetch_add(1, Ordering::Relaxed) == 2;
        let watch = Watch::new(&third);
        assert_eq!([watch.stopped(), watch.stopped(), watch.stopped()], [false, false, true]);
        assert!(!Watch::none().stopped());
    }
}
