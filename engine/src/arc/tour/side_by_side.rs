//! Many searches side by side on all cores: each with its own seed, so that their answers do not depend on which runs when.

use super::chain::Chain;
use super::path::Offsets;
use super::{TourProgress, TourStage};
use crate::numerics::global::{self, Found, Options};
use crate::numerics::watch::Watch;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// One search to be run.
pub(super) struct Task<'a, 'b> {
    pub(super) chain: &'a Chain<'b>,
    pub(super) options: Options,
    /// Evaluations that refine what was found, after it.
    pub(super) closer: usize,
}

impl Task<'_, '_> {
    fn run(&self, watch: &Watch<'_>, told: &mut dyn FnMut(usize, f64)) -> Found {
        let none = Offsets::none(self.chain.legs());
        let cost = |x: &[f64]| self.chain.cost(x, &none);
        let bounds = &self.chain.layout.bounds;
        let mut found = global::search(bounds, cost, &self.options, watch, &mut |at| told(at.evaluations, at.cost));
        if self.closer == 0 || watch.stopped() || !found.cost.is_finite() {
            return found;
        }
        let close = Options { evaluations: self.closer, rounds: 1, ..self.options };
        let before = found.evaluations;
        let finer = global::search_from(&found.x, bounds, cost, &close, watch, &mut |at| {
            told(before + at.evaluations, at.cost);
        });
        found.evaluations += finer.evaluations;
        if finer.cost < found.cost {
            (found.x, found.cost) = (finer.x, finer.cost);
        }
        found
    }
}

/// Runs all tasks; answers in their order.
pub(super) fn run(
    tasks: &[Task<'_, '_>],
    threads: usize,
    stage: TourStage,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&TourProgress),
) -> Vec<Option<Found>> {
    let budget: usize = tasks.iter().map(|task| task.options.evaluations + task.closer).sum();
    let mut state = TourProgress { stage, sequences: tasks.len(), evaluations: 0, budget, best: f64::INFINITY };
    let mut spent = vec![0; tasks.len()];
    let mut found: Vec<Option<Found>> = vec![None; tasks.len()];
    let next = AtomicUsize::new(0);
    let threads = threads.clamp(1, tasks.len().max(1));
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(task) = tasks.get(index) else { break };
                    // A receiver that is gone means that nobody listens any more: the search goes on to its end all the same.
                    let mut told = |evaluations, best| drop(send.send((index, evaluations, best, None)));
                    let found = task.run(watch, &mut told);
                    drop(send.send((index, found.evaluations, found.cost, Some(found))));
                }
            });
        }
        drop(send);
        for (index, evaluations, best, done) in receive {
            spent[index] = evaluations;
            state.evaluations = spent.iter().sum();
            state.best = state.best.min(best);
            progress(&state);
            if done.is_some() {
                found[index] = done;
            }
        }
    });
    found
}
