//! System files: the documented example is read, drifting orbits drift, and no text whatever makes the reader panic.

use proptest::prelude::*;
use visviva_engine::conic::Elements;
use visviva_engine::system::{EphemerisChoice, System};

fn documented() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/system-files.md");
    let page = std::fs::read_to_string(path).expect("the page can be read");
    let (_, rest) = page.split_once("```toml\n").expect("an example");
    rest.split_once("```").expect("its end").0.to_string()
}

#[test]
fn the_documented_example_is_read() {
    let system = System::parse(&documented(), "example").expect("the example is sound");
    assert_eq!(system.name(), "lonely");
    assert_eq!(system.bodies().len(), 3);
    assert!(system.warnings().is_empty(), "{:?}", system.warnings());
    let harbour = system.body("Harbour").expect("Harbour");
    assert!(harbour.air().is_some() && harbour.sea().is_some());
}

/// After 100 days the node has moved by −3 degrees and periapsis by 6, and the moon still faces its planet. The osculating node
/// is off by what the drift adds to the velocity: the rate over the mean motion, 6e-4/0.26 rad over the inclination.
#[test]
fn a_drifting_orbit_drifts() {
    let system = System::parse(&documented(), "example").expect("the example is sound");
    let moon = system.body("Tender").expect("Tender");
    let parent = moon.parent().expect("Harbour");
    let plane = parent.orbit_plane();
    let gm = parent.gm() + moon.gm();
    let node = |days: f64| {
        let state = moon.state(system.epoch().after(days * 86_400.0)).expect("any time");
        let local = visviva_engine::conic::State {
            position: plane.transpose() * state.position,
            velocity: plane.transpose() * state.velocity,
        };
        Elements::from_state(gm, &local).expect("an ellipse").ascending_node.to_degrees()
    };
    assert!((node(0.0) - 10.0).abs() < 0.3, "{}", node(0.0));
    assert!((node(100.0) - 7.0).abs() < 0.3, "{}", node(100.0));
    for days in [0.0, 33.0, 5000.0] {
        let epoch = system.epoch().after(days * 86_400.0);
        let place = moon.state(epoch).expect("any time").position;
        let axes = moon.body_fixed(epoch);
        let off = (-place.dot(&axes.column(1))).atan2(-place.dot(&axes.column(0))).abs();
        // Twice the eccentricity and its square: the equation of the centre.
        assert!(off < 2.0 * 0.03 + 1.25 * 0.03 * 0.03 + 1e-6, "{off}");
    }
}

proptest! {
    /// Any text is a system or an error with a message; spans lie inside the text.
    #[test]
    fn any_text_is_answered(text in any::<String>()) {
        answered(&text)?;
    }

    /// Sound files with a piece cut out, doubled or replaced reach deeper into the reader.
    #[test]
    fn damaged_files_are_answered(start in 0_usize..2600, length in 0_usize..60, patch in "[ -~]{0,12}|-1e308|nan|\"9e307 km\"|\"1e-300 km\"") {
        let text = documented();
        let clamp = |mut at: usize| {
            at = at.min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let (start, end) = (clamp(start), clamp(start + length));
        answered(&format!("{}{patch}{}", &text[..start], &text[end..]))?;
    }

    /// Values of any size in the right places give finite states or an error.
    #[test]
    fn values_of_any_size_are_answered(key in 0_usize..7, exponent in -320_i32..320, sign in prop::bool::ANY) {
        let number = format!("{}1e{exponent}", if sign { "-" } else { "" });
        let swaps = [
            ("\"9.2e10 km^3/s^2\"", "km^3/s^2"),
            ("\"2100 km^3/s^2\"", "km^3/s^2"),
            ("\"480000 km\"", "km"),
            ("\"210000 km\"", "km"),
            ("\"31 h\"", "h"),
            ("\"290 K\"", "K"),
            ("\"4.5e-10 1/Pa\"", "1/Pa"),
        ];
        let (old, unit) = swaps[key];
        answered(&documented().replace(old, &format!("\"{number} {unit}\"")))?;
    }
}

fn answered(text: &str) -> Result<(), TestCaseError> {
    match System::parse(text, "any") {
        Ok(system) => {
            for body in system.bodies() {
                for days in [0.0, 1234.5] {
                    let epoch = system.epoch().try_after(days * 86_400.0).unwrap_or(system.epoch());
                    let state = body.state(epoch).expect("no span, no error");
                    prop_assert!(state.is_finite(), "{} is at {state:?}", body.name());
                    let air = body.air().and_then(|air| air.at(0.5 * air.top()));
                    prop_assert!(air.is_none_or(|air| air.density.is_finite() && air.sound.is_finite()));
                    prop_assert!(body.body_fixed(epoch).iter().all(|x| x.is_finite()));
                    prop_assert!(body.sphere_of_influence() > 0.0 && body.hill_radius() > 0.0);
                }
            }
        }
        Err(error) => {
            prop_assert!(!error.message().is_empty());
            if let Some(span) = error.span() {
                prop_assert!(span.start <= span.end && span.end <= text.len());
                prop_assert!(text.is_char_boundary(span.start) && text.is_char_boundary(span.end));
            }
        }
    }
    Ok(())
}

/// How long one state takes; printed, and bounded loosely: a window search asks for ten thousand.
#[test]
fn states_are_quick() {
    let system = System::embedded("sol", EphemerisChoice::Default).expect("sol");
    for name in ["Earth", "Mercury", "Jupiter", "Io"] {
        let body = system.body(name).expect("a body");
        let start = std::time::Instant::now();
        let count = 20_000;
        let mut sum = 0.0;
        for step in 0..count {
            sum += body.state(system.epoch().after(f64::from(step) * 50_000.0)).expect("within the span").position.x;
        }
        let each = start.elapsed().as_secs_f64() / f64::from(count);
        println!("{name}: {:.0} ns for a state (sum {sum:e})", each * 1e9);
        assert!(each < 50e-6, "{name}: {each} s");
    }
}
