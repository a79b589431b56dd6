//! Phases of a stack: which stages burn together, from whose tanks, and until when.
//!
//! The first stage of the list burns, and with it all that stand beside it. Each stage's engines draw on the stages that feed it, while those
//! hold propellant, and else on its own tanks; a phase ends when the first of the tanks drawn on is empty. A stage that is empty leaves when the
//! next phase begins, unless one that still burns stands beside it.

use super::Stage;

/// What happens until the next tank is empty.
#[derive(Debug, Clone)]
pub(super) struct Phase {
    /// Stages whose engines run, by their places in the list.
    pub(super) burning: Vec<usize>,
    /// Stages whose tanks are drawn on, with their shares of the mass flow.
    pub(super) draws: Vec<(usize, f64)>,
    /// Effective exhaust speed in vacuum of all engines that run, m/s.
    pub(super) exhaust_speed: f64,
    /// In vacuum, N, where known.
    pub(super) thrust: Option<f64>,
    /// Exit area of all nozzles that run, m².
    pub(super) exit_area: f64,
    /// kg/s, where known.
    pub(super) flow: Option<f64>,
    /// What burns until the end of the phase, kg.
    pub(super) propellant: f64,
}

impl Phase {
    /// Thrust at a pressure (Pa), N.
    pub(super) fn thrust_at(&self, pressure: f64) -> Option<f64> {
        self.thrust.map(|force| force - pressure * self.exit_area)
    }

    /// Effective exhaust speed at a pressure (Pa), m/s; below zero where the thrust is.
    pub(super) fn exhaust_speed_at(&self, pressure: f64) -> f64 {
        match (self.thrust_at(pressure), self.flow) {
            (Some(force), Some(flow)) if self.exit_area > 0.0 => force / flow,
            _ => self.exhaust_speed,
        }
    }

    /// Name of the phase: the first stage whose tanks it draws on.
    pub(super) fn name<'s>(&self, stages: &'s [Stage]) -> &'s str {
        let first = self.draws.iter().map(|draw| draw.0).min().unwrap_or(0);
        stages.get(first).map_or("", |stage| stage.name.as_str())
    }

    /// Takes `burned` kg out of the tanks; all that the phase has when `all`.
    pub(super) fn burn(&self, stages: &mut [Stage], burned: f64, all: bool) {
        for &(index, share) in &self.draws {
            let Some(stage) = stages.get_mut(index) else { continue };
            let left = stage.propellant - share * burned;
            // The tank that ends the phase is empty but for the rounding of its share of the flow.
            let rounding = 8.0 * f64::EPSILON * stage.propellant;
            stage.propellant = if all && left <= rounding { 0.0 } else { left.max(0.0) };
        }
    }
}

/// The stages that are lit together with the first: all that stand beside it, or beside one of those.
pub(super) fn group(stages: &[Stage]) -> Vec<usize> {
    let mut members = vec![0];
    let mut at = 0;
    while let Some(&member) = members.get(at) {
        at += 1;
        for (index, other) in stages.iter().enumerate() {
            let joined = other.beside.as_deref() == Some(stages[member].name.as_str())
                || stages[member].beside.as_deref() == Some(other.name.as_str());
            if joined && !members.contains(&index) {
                members.push(index);
            }
        }
    }
    members.sort_unstable();
    members
}

/// The next phase; `None` when no tank of the first group of stages holds anything for an engine.
pub(super) fn next(stages: &[Stage]) -> Option<Phase> {
    if stages.is_empty() {
        return None;
    }
    let group = group(stages);
    let sources: Vec<(usize, Vec<(usize, f64)>)> = group
        .iter()
        .filter(|&&index| !stages[index].engines.is_empty())
        .map(|&index| (index, sources(stages, &group, index, stages.len())))
        .filter(|(_, from)| !from.is_empty())
        .collect();
    if let [(index, from)] = sources.as_slice()
        && let [(tank, _)] = from.as_slice()
    {
        let stage = &stages[*index];
        return Some(Phase {
            burning: vec![*index],
            draws: vec![(*tank, 1.0)],
            exhaust_speed: stage.exhaust_speed(),
            thrust: stage.thrust(),
            exit_area: stage.exit_area(),
            flow: stage.mass_flow(),
            propellant: stages[*tank].propellant,
        });
    }
    let (mut flow, mut thrust, mut exit_area) = (0.0, 0.0, 0.0);
    let mut drawn = vec![0.0; stages.len()];
    for (index, from) in &sources {
        let stage = &stages[*index];
        let throttle = if sources.len() > 1 { stage.throttle_beside() } else { stage.throttle };
        // A stack whose stages burn together was refused unless all thrusts are known.
        let own_flow = throttle * stage.sum(super::Engine::mass_flow).unwrap_or(0.0);
        flow += own_flow;
        thrust += throttle * stage.sum(|engine| engine.thrust).unwrap_or(0.0);
        exit_area += stage.exit_area();
        for &(tank, share) in from {
            drawn[tank] += own_flow * share;
        }
    }
    if flow <= 0.0 {
        return None;
    }
    let draws: Vec<(usize, f64)> =
        drawn.iter().enumerate().filter(|(_, kg_s)| **kg_s > 0.0).map(|(tank, kg_s)| (tank, kg_s / flow)).collect();
    let propellant = draws.iter().map(|&(tank, share)| stages[tank].propellant / share).fold(f64::INFINITY, f64::min);
    Some(Phase {
        burning: sources.iter().map(|(index, _)| *index).collect(),
        draws,
        exhaust_speed: thrust / flow,
        thrust: Some(thrust),
        exit_area,
        flow: Some(flow),
        propellant,
    })
}

/// The tanks that a stage's engines draw on, with shares that sum to one: those that feed it, in proportion to what they hold (so that they run
/// dry together), else its own. `depth` bounds the chain.
fn sources(stages: &[Stage], group: &[usize], index: usize, depth: usize) -> Vec<(usize, f64)> {
    let mut found: Vec<(usize, f64)> = Vec::new();
    if depth > 0 {
        for &feeder in group {
            if stages[feeder].feeds.as_deref() == Some(stages[index].name.as_str()) && feeder != index {
                for (tank, _) in sources(stages, group, feeder, depth - 1) {
                    if !found.iter().any(|known| known.0 == tank) {
                        found.push((tank, stages[tank].propellant));
                    }
                }
            }
        }
    }
    if found.is_empty() && stages[index].propellant > 0.0 {
        return vec![(index, 1.0)];
    }
    let total: f64 = found.iter().map(|source| source.1).sum();
    for source in &mut found {
        source.1 /= total;
    }
    found
}

/// Leaves behind what is empty and in nobody's way: the stages of the first group that hold nothing, beside which nothing stands that is still
/// there. The last stage of the list stays.
pub(super) fn leave_empty(stages: &mut Vec<Stage>) {
    while stages.len() > 1 {
        let last = stages.len() - 1;
        let leaver = group(stages).into_iter().find(|&index| {
            let stage = &stages[index];
            let held = stages.iter().any(|other| other.beside.as_deref() == Some(stage.name.as_str()));
            stage.propellant <= 0.0 && !held && index != last
        });
        let Some(index) = leaver else { break };
        remove(stages, index);
    }
}

/// Takes a stage off, and what leaves with it.
pub(super) fn remove(stages: &mut Vec<Stage>, index: usize) {
    if index >= stages.len() {
        return;
    }
    let gone = stages.remove(index);
    for stage in stages.iter_mut() {
        stage.equipment.stage_left(&gone.name);
    }
}

#[cfg(test)]
mod tests {
    use crate::constants::STANDARD_GRAVITY;
    use crate::vehicle::{Stage, Vehicle, VehicleError};

    fn unit(name: &str) -> Stage {
        Stage::new(name, 1000.0, 10_000.0, 300.0, Some(3e5)).unwrap()
    }

    /// Two pairs and a core: the outer pair feeds the inner one, that one the core.
    fn chain() -> Vehicle {
        let outer = unit("outer").times(2).feeding("inner");
        let inner = unit("inner").times(2).feeding("core");
        Vehicle::of_stages("chain", vec![outer, inner, unit("core")]).unwrap()
    }

    #[test]
    fn outer_pairs_feed_all_inside_them_and_drop_first() {
        let ladder = chain().ladder();
        let names: Vec<&str> = ladder.iter().map(|rung| rung.stage.as_str()).collect();
        assert_eq!(names, ["outer", "inner", "core"]);
        // Tank bookkeeping by hand: five full units, then three, then one; each phase burns its own pair's tanks.
        let c = 300.0 * STANDARD_GRAVITY;
        let by_hand = [(55_000.0, 35_000.0), (33_000.0, 13_000.0), (11_000.0, 1000.0)];
        for (rung, (before, after)) in ladder.iter().zip(by_hand) {
            assert!((rung.mass_before - before).abs() < 1e-9 && (rung.mass_after - after).abs() < 1e-9);
            assert!((rung.dv - c * f64::ln(before / after)).abs() < 1e-9);
        }
        // Five engines burn the outer pair's 20 t; one unit's flow is F/c.
        let flow = 3e5 / c;
        assert!((ladder[0].burn_time.unwrap() - 20_000.0 / (5.0 * flow)).abs() < 1e-9);
    }

    #[test]
    fn a_parallel_stack_without_crossfeed_leaves_the_core_part_empty() {
        let stages = vec![unit("pair").times(2).beside("core"), unit("core")];
        // Like units side by side are empty at the same moment: one phase.
        let ladder = Vehicle::of_stages("three", stages).unwrap().ladder();
        assert_eq!(ladder.len(), 1);
        assert!((ladder[0].mass_after - 3000.0).abs() < 1e-9);
    }

    #[test]
    fn burning_in_pieces_is_burning_at_once() {
        let whole = chain().dv();
        let mut left = chain();
        for _ in 0..7 {
            left = left.spend(whole / 8.0).unwrap();
        }
        // Seven burns, each rounded at some 1e4 m/s and 5e4 kg.
        assert!((left.dv() - whole / 8.0).abs() < 1e-8);
        let at_once = chain().spend(whole * 7.0 / 8.0).unwrap();
        assert!((left.mass() - at_once.mass()).abs() < 1e-7);
        assert!(chain().spend(whole).unwrap().propellant() < 1e-7);
        assert!(matches!(chain().spend(whole + 1.0), Err(VehicleError::NotEnough { .. })));
    }

    #[test]
    fn a_drop_tank_feeds_and_leaves() {
        let tank = Stage::tank("tank", 200.0, 5000.0).unwrap().feeding("core");
        let ladder = Vehicle::of_stages("with a tank", vec![tank, unit("core")]).unwrap().ladder();
        assert_eq!((ladder[0].stage.as_str(), ladder[0].burning.len()), ("tank", 1));
        assert_eq!(
            (ladder[0].mass_before, ladder[0].mass_after, ladder[1].mass_before),
            (16_200.0, 11_200.0, 11_000.0)
        );
    }

    #[test]
    fn refuses_what_cannot_burn_together() {
        let dumb = Stage::new("dumb", 1000.0, 10_000.0, 300.0, None).unwrap();
        let stages = vec![dumb.beside("core"), unit("core")];
        assert!(matches!(Vehicle::of_stages("v", stages), Err(VehicleError::NoThrust { .. })));
        let stages = vec![unit("core"), unit("pair").beside("core")];
        assert!(matches!(Vehicle::of_stages("v", stages), Err(VehicleError::BesideEarlier { .. })));
        let stages = vec![unit("a").feeding("b"), unit("b").feeding("a")];
        assert!(matches!(Vehicle::of_stages("v", stages), Err(VehicleError::FeedLoop { .. })));
        let stages = vec![unit("a"), unit("a")];
        assert!(matches!(Vehicle::of_stages("v", stages), Err(VehicleError::DuplicateName { .. })));
        let tank = Stage::tank("tank", 200.0, 5000.0).unwrap();
        assert!(matches!(Vehicle::of_stages("v", vec![tank, unit("a")]), Err(VehicleError::NoEngine { .. })));
    }
}
