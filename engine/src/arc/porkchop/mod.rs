//! Grids of dates: what it costs to go from one body to another, for every pair of departure and arrival, on every branch.

mod contour;
mod dates;
mod error;
mod grid;
mod levels;
mod measure;
mod minima;
mod prices;
mod row;
mod squares;

pub use contour::Contour;
pub use dates::{Axis, Dates, Ruling, Second};
pub use error::GridError;
pub use grid::{Cell, Grid};
pub use measure::{Choice, Measure, Sheet};

use super::parking::half_ellipse;
use super::parking::{ArrivalOrbit, Parking};
use super::route::Route;
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;
use prices::Prices;
use rayon::prelude::*;

/// Most arcs that a grid holds: at two numbers each, a third of a gigabyte.
const MOST_ARCS: f64 = 2.0e7;

/// Most whole revolutions.
const MOST_REVOLUTIONS: u32 = 20;

/// Dates on each axis when the ruling is left open: finer than a picture shows.
const DATES: usize = 241;

/// What a grid is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct GridOptions {
    /// First and last departure.
    pub between: (Epoch, Epoch),
    /// Flight times or arrivals; flight times from 0.4 to 2.2 of Hohmann's when left out.
    pub second: Option<Second>,
    /// How finely; 241 dates on each axis when left out.
    pub ruling: Option<Ruling>,
    /// What is departed from.
    pub parking: Parking,
    /// What is arrived in.
    pub arrival: Option<ArrivalOrbit>,
    /// Most whole revolutions.
    pub revolutions: u32,
    /// Whether arcs against the motion of the body left are kept too.
    pub both_senses: bool,
}

impl GridOptions {
    /// Departures between two epochs from a circular orbit at an altitude (m), all else as the defaults have it.
    pub fn new(between: (Epoch, Epoch), parking_altitude: f64) -> Self {
        Self {
            between,
            second: None,
            ruling: None,
            parking: Parking::Altitude(parking_altitude),
            arrival: None,
            revolutions: 0,
            both_senses: false,
        }
    }
}

/// The costs of every pair of dates, on every branch.
///
/// Each cell is Lambert's problem between the places of the two bodies, by the short or the long way round as the motion
/// of the body left has it, and for each number of whole revolutions by both branches. Where an end is a moon, its
/// planet is left or met, and the moon's part is charged as if it stood where that costs least: an estimate.
/// Memory grows with the number of cells times that of branches and with nothing else. Rows are shared among threads, and
/// their number changes no bit.
///
/// # Errors
/// Bounds the wrong way round, no pair of dates that runs forward, too many pairs, an end that is the central body
/// itself, an orbit that cannot be, dates of departure outside the ephemeris.
///
/// # Source
/// [Sergeyevsky1983] for the form: contours over dates of departure and arrival, cut in two by the ridge near half a revolution.
pub fn porkchop(from: &Body, to: &Body, options: &GridOptions, watch: &Watch<'_>) -> Result<Grid, GridError> {
    if options.revolutions > MOST_REVOLUTIONS {
        return Err(GridError::Revolutions { revolutions: options.revolutions, most: MOST_REVOLUTIONS });
    }
    let route = Route::between(from, to)?;
    if route.down_to_start.is_empty() || route.down_to_goal.is_empty() {
        return Err(GridError::Central { about: route.about.name().to_string() });
    }
    let sheets = Sheet::all(options.revolutions, options.both_senses);
    let second = if let Some(second) = options.second {
        second
    } else {
        let scale = half_ellipse(&route, options.between.0, 0.0)?;
        Second::FlightTimes(0.4 * scale, 2.2 * scale)
    };
    let ruling = options.ruling.unwrap_or(Ruling::Counts(DATES, DATES));
    let dates = Dates::ruled(options.between, second, ruling, sheets.len(), MOST_ARCS)?;
    let prices = Prices::new(route, from, to, options)?;
    let bodies = row::Table::new(&prices, &dates)?;
    let rows: Vec<_> = (0..dates.departures.count)
        .into_par_iter()
        .map(
            |i| if watch.stopped() { Err(GridError::Stopped) } else { row::fill(i, &bodies, &prices, &dates, &sheets) },
        )
        .collect();
    // The first row's error counts, whichever thread met it first.
    let rows = rows.into_iter().collect::<Result<Vec<_>, _>>()?;
    Grid::new(dates, sheets, prices, rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::lambert::Branch;
    use crate::arc::{Rank, WindowOptions, windows};
    use crate::system::{EphemerisChoice, System};

    fn epoch(text: &str) -> Epoch {
        Epoch::parse(text).expect("an epoch")
    }

    fn mars(count: usize, revolutions: u32) -> (Body, Body, GridOptions) {
        let sol = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
        let body = |name: &str| sol.body(name).expect("a planet");
        let mut options = GridOptions::new((epoch("2026-09-01 TDB"), epoch("2027-02-01 TDB")), 300e3);
        options.arrival = Some(ArrivalOrbit::Circular { altitude: 400e3 });
        options.second = Some(Second::FlightTimes(120.0 * 86_400.0, 420.0 * 86_400.0));
        options.ruling = Some(Ruling::Counts(count, count + 7));
        options.revolutions = revolutions;
        (body("Earth"), body("Mars"), options)
    }

    #[test]
    fn the_number_of_threads_changes_no_bit() {
        let (from, to, options) = mars(40, 1);
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
            pool.install(|| porkchop(&from, &to, &options, &Watch::none())).expect("a grid")
        };
        let one = on(1);
        for threads in [2, 5] {
            // Text tells every bit apart.
            assert_eq!(format!("{:?}", on(threads).rows), format!("{:?}", one.rows));
        }
    }

    #[test]
    fn cells_are_the_arcs_solved_alone() {
        let (from, to, mut options) = mars(13, 2);
        options.second = Some(Second::FlightTimes(500.0 * 86_400.0, 900.0 * 86_400.0));
        let grid = porkchop(&from, &to, &options, &Watch::none()).expect("a grid");
        let mut met = 0;
        for i in 0..13 {
            for j in 0..20 {
                for sheet in grid.sheets() {
                    let choice =
                        Choice { revolutions: Some(sheet.revolutions), branch: Some(sheet.branch), ..Choice::ANY };
                    let held = grid.least(i, j, Measure::Total, choice).map(|(figure, _)| figure);
                    let alone = grid.solve([i as f64, j as f64], *sheet);
                    let alone = alone.map(|(figures, _)| grid.measured(&figures, Measure::Total));
                    assert_eq!(held, alone, "{i} {j} {sheet}");
                    met += usize::from(held.is_some() && sheet.revolutions > 0);
                }
            }
        }
        // Two revolutions take longer than these flights; one fits into the longest.
        assert!(met > 0 && grid.revolutions() == 2);
    }

    #[test]
    fn the_least_minimum_is_the_best_window() {
        let (from, to, options) = mars(60, 0);
        let grid = porkchop(&from, &to, &options, &Watch::none()).expect("a grid");
        let minima = grid.minima(Measure::Total, Choice::ANY, &Watch::none()).expect("minima");
        assert!(minima.len() >= 2 && minima[0].long != minima[1].long, "both lobes have one: {minima:?}");
        let mut search = WindowOptions::new(options.between, 300e3);
        search.arrival = options.arrival;
        search.flight_time = Some((120.0 * 86_400.0, 420.0 * 86_400.0));
        search.rank = Some(Rank::Total);
        search.shoot = false;
        let best = &windows(&from, &to, &search, &Watch::none()).expect("windows").list[0];
        // The same minimum of the same cost: both descents end within their tolerance, whose square the cost feels.
        assert!((minima[0].dv - best.cost).abs() < 1e-6, "{} {}", minima[0].dv, best.cost);
        assert!(minima[0].depart.seconds_since(best.dates.0).abs() < 600.0);
    }

    #[test]
    fn contours_keep_their_level_and_their_side() {
        let (from, to, options) = mars(90, 0);
        let grid = porkchop(&from, &to, &options, &Watch::none()).expect("a grid");
        let levels = grid.levels(Measure::C3, Choice::ANY, 9).expect("levels");
        assert!((6..=13).contains(&levels.len()), "{levels:?}");
        let lines = grid.contours(Measure::C3, &levels, Choice::ANY).expect("contours");
        let mut checked = 0;
        for line in &lines {
            let mut sides = Vec::new();
            for point in &line.points {
                let (depart, arrive) = grid.epochs(*point);
                let Ok(cells) = grid.at(depart, arrive.seconds_since(depart), Choice::ANY) else { continue };
                // On the ridge itself the way round is a matter of rounding, and towards it C3 climbs within a step.
                let beside = (cells[0].angle - std::f64::consts::PI).abs();
                if beside > 0.01 {
                    sides.push(cells[0].long);
                }
                if beside > 0.15 {
                    // Linear between two dates: the curvature of C3 over a step of 1.7 by 3 days is left.
                    assert!((cells[0].c3 / line.level - 1.0).abs() < 0.02, "{} {}", cells[0].c3, line.level);
                    checked += 1;
                }
            }
            assert!(sides.windows(2).all(|pair| pair[0] == pair[1]), "a line crossed the ridge");
        }
        assert!(checked > 500, "{checked}");
        assert!(!grid.ridge().is_empty());
    }

    #[test]
    fn branches_are_kept_apart() {
        let (from, to, mut options) = mars(30, 1);
        options.second = Some(Second::FlightTimes(500.0 * 86_400.0, 900.0 * 86_400.0));
        let grid = porkchop(&from, &to, &options, &Watch::none()).expect("a grid");
        let of = |branch| {
            let choice = Choice { revolutions: Some(1), branch: Some(branch), ..Choice::ANY };
            grid.field(Measure::C3, choice).expect("a field")
        };
        let (left, right) = (of(Branch::Left), of(Branch::Right));
        let both = left.iter().zip(&right).filter(|(a, b)| a.is_finite() && b.is_finite()).count();
        assert!(both > 300 && left != right, "{both}");
        let least = grid.field(Measure::C3, Choice::ANY).expect("a field");
        assert!(least.iter().zip(&left).all(|(least, left)| least <= left));
        assert!(least.iter().zip(&right).all(|(least, right)| least <= right));
    }

    #[test]
    fn bad_questions_are_named() {
        let (from, to, good) = mars(10, 0);
        let ask = |change: &dyn Fn(&mut GridOptions)| {
            let mut options = good.clone();
            change(&mut options);
            porkchop(&from, &to, &options, &Watch::none())
        };
        let (a, b) = good.between;
        assert!(matches!(ask(&|o| o.between = (b, a)), Err(GridError::Departures { .. })));
        assert!(matches!(ask(&|o| o.second = Some(Second::FlightTimes(2e7, 1e7))), Err(GridError::FlightTimes { .. })));
        assert!(matches!(ask(&|o| o.second = Some(Second::Arrivals(b, a))), Err(GridError::Arrivals { .. })));
        let before = epoch("2026-01-01 TDB");
        assert!(matches!(ask(&|o| o.second = Some(Second::Arrivals(before, a))), Err(GridError::Empty { .. })));
        assert!(matches!(ask(&|o| o.ruling = Some(Ruling::Steps(0.0, 1.0))), Err(GridError::Step { .. })));
        assert!(matches!(ask(&|o| o.ruling = Some(Ruling::Steps(1.0, 1.0))), Err(GridError::TooLarge { .. })));
        assert!(matches!(ask(&|o| o.ruling = Some(Ruling::Counts(1, 10))), Err(GridError::TooFew { .. })));
        assert!(matches!(ask(&|o| o.between = (a, a)), Err(GridError::TooFew { .. })));
        assert!(matches!(ask(&|o| o.revolutions = 99), Err(GridError::Revolutions { .. })));
        let sun = from.parent().expect("the Sun");
        assert!(matches!(porkchop(&sun, &to, &good, &Watch::none()), Err(GridError::Central { .. })));
        let stopped = || true;
        assert_eq!(porkchop(&from, &to, &good, &Watch::new(&stopped)), Err(GridError::Stopped));
        let grid = ask(&|_| ()).expect("a grid");
        assert!(matches!(grid.contours(Measure::C3, &[f64::NAN], Choice::ANY), Err(GridError::Level { .. })));
        assert!(matches!(grid.at(b.after(1e6), 2e7, Choice::ANY), Err(GridError::Outside { .. })));
    }

    #[test]
    fn arrivals_before_departures_have_no_arc() {
        let (from, to, mut options) = mars(20, 0);
        options.second = Some(Second::Arrivals(epoch("2026-10-01 TDB"), epoch("2027-10-01 TDB")));
        let grid = porkchop(&from, &to, &options, &Watch::none()).expect("a grid");
        let (rows, columns) = grid.size();
        assert!(grid.filled() < rows * columns);
        assert!(grid.least(rows - 1, 0, Measure::C3, Choice::ANY).is_none());
        assert!(grid.least(rows - 1, columns - 1, Measure::C3, Choice::ANY).is_some());
    }
}
