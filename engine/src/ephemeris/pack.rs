//! The built-in pack: Chebyshev series refitted to DE440, 1950 to 2100, about 1 km. [Park2021]
//!
//! engine/data/sol_pack.toml describes the file; the tracks below repeat it and a test holds them together. Series of one
//! track are for equal steps of whole days, so that the place in a step is found from day and fraction without loss.

use crate::conic::State;
use crate::constants::DAY;
use crate::system::{EARTH_MOON_RATIO, PackPlace};
use crate::vector::Vec3;

static BYTES: &[u8] = include_bytes!("../../data/sol_1950_2100.bin");

/// First day of the pack, TDB days past J2000: JD 2433282.5.
const START: f64 = 2_433_282.5 - 2_451_545.0;

/// One track: series of `coefficients` terms for x, y and z, each for `step` days, from the double number `offset` on.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Track {
    name: &'static str,
    center: &'static str,
    step: f64,
    coefficients: usize,
    segments: usize,
    offset: usize,
}

const fn track(
    name: &'static str,
    center: &'static str,
    step: f64,
    coefficients: usize,
    segments: usize,
    offset: usize,
) -> Track {
    Track { name, center, step, coefficients, segments, offset }
}

const SUN: Track = track("sun", "ssb", 400.0, 28, 137, 0);
const MERCURY: Track = track("mercury", "sun", 88.0, 31, 623, 11_508);
const VENUS: Track = track("venus", "sun", 225.0, 19, 244, 69_447);
const EARTH_AND_MOON: Track = track("emb", "sun", 128.0, 12, 429, 83_355);
const MOON: Track = track("moon", "earth", 16.0, 13, 3425, 98_799);
const MARS: Track = track("mars_bary", "sun", 344.0, 24, 160, 232_374);
const JUPITER: Track = track("jupiter_bary", "ssb", 2000.0, 21, 28, 243_894);
const SATURN: Track = track("saturn_bary", "ssb", 2000.0, 15, 28, 245_658);
const URANUS: Track = track("uranus_bary", "ssb", 6400.0, 28, 9, 246_918);
const NEPTUNE: Track = track("neptune_bary", "ssb", 6400.0, 22, 9, 247_674);
const PLUTO: Track = track("pluto_bary", "ssb", 6400.0, 20, 9, 248_268);

/// State of the Sun about the Solar System barycentre, ICRF axes.
pub(super) fn sun(days: (f64, f64)) -> State {
    SUN.state(days)
}

/// State of a body about its parent, ICRF axes. The caller has seen to it that the day lies in the pack's span.
pub(super) fn state(place: PackPlace, days: (f64, f64)) -> State {
    let about_sun = |track: Track| {
        let (planet, sun) = (track.state(days), SUN.state(days));
        State { position: planet.position - sun.position, velocity: planet.velocity - sun.velocity }
    };
    match place {
        PackPlace::Mercury => MERCURY.state(days),
        PackPlace::Venus => VENUS.state(days),
        PackPlace::Earth => {
            let (both, moon) = (EARTH_AND_MOON.state(days), MOON.state(days));
            let share = 1.0 / (1.0 + EARTH_MOON_RATIO);
            State { position: both.position - moon.position * share, velocity: both.velocity - moon.velocity * share }
        }
        PackPlace::Moon => MOON.state(days),
        PackPlace::Mars => MARS.state(days),
        PackPlace::Jupiter => about_sun(JUPITER),
        PackPlace::Saturn => about_sun(SATURN),
        PackPlace::Uranus => about_sun(URANUS),
        PackPlace::Neptune => about_sun(NEPTUNE),
        PackPlace::Pluto => about_sun(PLUTO),
    }
}

impl Track {
    fn state(&self, (whole, fraction): (f64, f64)) -> State {
        // START is a half day: the difference of two multiples of a half is exact.
        let past = whole - START;
        let last = (self.segments - 1) as f64;
        let segment = ((past + fraction) / self.step).floor().clamp(0.0, last);
        let x = 2.0 * ((past - segment * self.step) + fraction) / self.step - 1.0;
        let (doubles, _) = BYTES.as_chunks::<8>();
        let n = self.coefficients;
        let start = self.offset + segment as usize * 3 * n;
        let [xs, ys, zs] = [0, 1, 2].map(|axis| &doubles[start + axis * n..start + (axis + 1) * n]);

        // First and second kind by their common recurrence, forward: for |x| ≤ 1 and some thirty terms it loses a few bits at
        // most. The derivative of T of degree k is k times U of degree k − 1.
        let twice = 2.0 * x;
        let (mut t, mut t_next) = (1.0, x);
        let (mut u, mut u_next) = (0.0, 1.0);
        let mut degree = 0.0;
        let (mut position, mut slope) = (Vec3::zeros(), Vec3::zeros());
        for ((cx, cy), cz) in xs.iter().zip(ys).zip(zs) {
            let c = Vec3::new(f64::from_le_bytes(*cx), f64::from_le_bytes(*cy), f64::from_le_bytes(*cz));
            position += c * t;
            slope += c * (degree * u);
            degree += 1.0;
            (t, t_next) = (t_next, twice * t_next - t);
            (u, u_next) = (u_next, twice * u_next - u);
        }
        State { position: position * 1e3, velocity: slope * (1e3 * 2.0 / (self.step * DAY)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRACKS: [Track; 11] =
        [SUN, MERCURY, VENUS, EARTH_AND_MOON, MOON, MARS, JUPITER, SATURN, URANUS, NEPTUNE, PLUTO];

    #[test]
    fn tracks_repeat_the_description() {
        let description: toml::Table =
            include_str!("../../data/sol_pack.toml").parse().expect("the description is TOML");
        assert_eq!(description["start_jd_tdb"].as_float(), Some(START + 2_451_545.0));
        let bodies = description["body"].as_array().expect("a list of bodies");
        assert_eq!(bodies.len(), TRACKS.len());
        for (body, track) in bodies.iter().zip(TRACKS) {
            assert_eq!(body["name"].as_str(), Some(track.name));
            assert_eq!(body["center"].as_str(), Some(track.center));
            assert_eq!(body["step_days"].as_float(), Some(track.step));
            assert_eq!(body["n_coeffs"].as_integer(), Some(track.coefficients as i64));
            assert_eq!(body["n_segments"].as_integer(), Some(track.segments as i64));
            assert_eq!(body["offset"].as_integer(), Some(track.offset as i64));
        }
        assert_eq!(BYTES.len(), 1_990_464);
    }

    #[test]
    fn velocity_is_the_derivative_of_position() {
        // Central differences over ±h with h = 864 s: the third derivative leaves n³ a h²/6, at most 3.9e-4 m/s for Mercury
        // at its periapsis (8.3e-7 rad/s, speed 6e4 m/s, tripled by eccentricity); a metre of rounding does not enter.
        for track in TRACKS {
            for day in [100.0, 9_000.0, 17_777.0, 36_000.0] {
                let (before, after) = (track.state((day, 0.5 - 0.01)), track.state((day, 0.5 + 0.01)));
                let expected = (after.position - before.position) / (2.0 * 0.01 * DAY);
                let found = track.state((day, 0.5)).velocity;
                assert!((found - expected).norm() < 0.1, "{}: {found} against {expected}", track.name);
            }
        }
    }
}
