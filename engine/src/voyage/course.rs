//! What a track follows: a smooth part of a leg, whichever way it was flown.

use super::flown::{FlightSight, FlownPath};
use super::flown_phase::Phase;
use super::{Piece, VoyageError};
use crate::conic::{State, propagate};
use crate::numerics::watch::Watch;
use crate::system::{Body, Site};
use crate::time::Epoch;

/// A smooth part of a leg.
#[derive(Debug, Clone, Copy)]
pub(super) enum Course<'a> {
    /// On a conic.
    Conic(&'a Piece),
    /// Under forces, in one phase of a flight.
    Flown(&'a FlownPath, &'a Phase),
    /// On a site, from one epoch to another.
    Stay(&'a Site, Epoch, Epoch),
}

impl<'a> Course<'a> {
    /// The body that it is about.
    pub(super) fn body(&self) -> &'a Body {
        match *self {
            Course::Conic(piece) => piece.body(),
            Course::Flown(path, _) => path.body(),
            Course::Stay(site, ..) => site.body(),
        }
    }

    /// When it begins.
    pub(super) fn start(&self) -> Epoch {
        match self {
            Course::Conic(piece) => piece.orbit.epoch(),
            Course::Flown(path, phase) => path.epoch_of(phase.start),
            Course::Stay(_, start, _) => *start,
        }
    }

    /// When it ends.
    pub(super) fn end(&self) -> Epoch {
        match self {
            Course::Conic(piece) => piece.end,
            Course::Flown(path, phase) => path.epoch_of(phase.end),
            Course::Stay(_, _, end) => *end,
        }
    }

    /// Its length, s.
    pub(super) fn duration(&self) -> f64 {
        match self {
            Course::Conic(piece) => piece.duration(),
            Course::Flown(_, phase) => phase.end - phase.start,
            Course::Stay(_, start, end) => end.seconds_since(*start),
        }
    }

    /// Place and velocity after a time from its start, s.
    pub(super) fn state(&self, time: f64) -> Result<State, VoyageError> {
        match self {
            Course::Conic(piece) => Ok(propagate(piece.orbit.gm(), piece.orbit.state(), time)?),
            Course::Flown(path, phase) => Ok(match path.in_phase(phase, phase.start + time) {
                Some(moment) => State { position: moment.position, velocity: moment.velocity },
                None => *path.after().state(),
            }),
            Course::Stay(site, start, _) => Ok(site.state(start.after(time))),
        }
    }

    /// What there is to read besides, where it is flown under forces.
    pub(super) fn sight(&self, time: f64) -> Option<FlightSight> {
        match self {
            Course::Conic(_) | Course::Stay(..) => None,
            Course::Flown(path, phase) => {
                let moment = path.in_phase(phase, phase.start + time)?;
                Some(path.sight(phase, &moment))
            }
        }
    }

    /// What happens at its start, where it is not the start of its leg.
    pub(super) fn event(&self) -> String {
        match self {
            Course::Conic(piece) => piece.patch.as_ref().map(ToString::to_string).unwrap_or_default(),
            Course::Flown(path, phase) => {
                let here = path.happenings().iter().filter(|seen| seen.time == phase.start);
                here.map(|seen| seen.what.as_str()).collect::<Vec<_>>().join(", ")
            }
            Course::Stay(..) => String::new(),
        }
    }

    /// Times (s from its start) that are sampled because something happens there without a switch.
    fn marked(&self) -> Vec<(f64, &'a str)> {
        match *self {
            Course::Conic(_) | Course::Stay(..) => Vec::new(),
            Course::Flown(path, phase) => path
                .happenings()
                .iter()
                .filter(|seen| phase.start < seen.time && seen.time < phase.end)
                .map(|seen| (seen.time - phase.start, seen.what.as_str()))
                .collect(),
        }
    }

    /// What happens at a time inside of it.
    pub(super) fn event_at(&self, time: f64) -> String {
        let here = self.marked().into_iter().filter(|(when, _)| *when == time);
        here.map(|(_, what)| what).collect::<Vec<_>>().join(", ")
    }

    /// Times with those at which something happens among them.
    pub(super) fn with_marks(&self, mut times: Vec<f64>) -> Vec<f64> {
        let marked = self.marked();
        if !marked.is_empty() {
            times.extend(marked.into_iter().map(|(time, _)| time));
            times.sort_by(f64::total_cmp);
            times.dedup();
        }
        times
    }

    /// Times from 0 to its end, each interval at most a twelfth of the local time scale at its start and a quarter of the whole.
    pub(super) fn natural(&self, most: usize, watch: &Watch<'_>) -> Result<Vec<f64>, VoyageError> {
        let gm = self.body().gm();
        let duration = self.duration();
        let mut times = vec![0.0];
        let mut time = 0.0;
        while time < duration {
            let step = if let Course::Stay(site, ..) = self {
                // What turns with the ground goes round once a day.
                site.body().spin().map_or(duration, |spin| spin.period / 12.0)
            } else {
                let r = self.state(time)?.position.norm();
                std::f64::consts::TAU * (r * r * r / gm).sqrt() / 12.0
            };
            time = (time + step.min(duration / 4.0)).min(duration);
            times.push(time);
            if times.len() > most {
                return Err(VoyageError::TooManyPoints { most });
            }
            if watch.stopped() {
                return Err(VoyageError::Interrupted);
            }
        }
        Ok(times)
    }
}
