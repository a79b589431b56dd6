//! Air at rest stands: continuous, in hydrostatic balance, turning with its body; and the layers that flights use are the same air.

use visviva_engine::system::{Air, Body, EphemerisChoice, System};
use visviva_engine::vector::Vec3;

fn bodies() -> Vec<Body> {
    ["sol", "velm"]
        .iter()
        .flat_map(|name| System::embedded(name, EphemerisChoice::Default).expect("built in").bodies())
        .filter(|body| body.air().is_some())
        .collect()
}

fn sol(name: &str) -> Body {
    System::embedded("sol", EphemerisChoice::Default).and_then(|sol| sol.body(name)).expect("a body")
}

fn density(air: &Air, height: f64) -> f64 {
    air.at(height).expect("air").density
}

/// Layers follow each other without a gap from bottom to ceiling, and hold the density that a reading gives. Polynomials are fitted to
/// 1e-11 in the logarithm; a hundredfold for what the last terms understate.
#[test]
fn layers_are_the_air_that_is_read() {
    for body in bodies() {
        let air = body.air().expect("air");
        let layers = air.layers();
        assert_eq!(layers.first().map(visviva_engine::system::Layer::start), Some(air.bottom()));
        assert_eq!(layers.last().map(visviva_engine::system::Layer::end), Some(air.ceiling()));
        for pair in layers.windows(2) {
            assert_eq!(pair[0].end(), pair[1].start(), "{}", body.name());
        }
        for layer in &layers {
            for part in [0.001, 0.13, 0.5, 0.77, 0.999] {
                let height = layer.start() + part * (layer.end() - layer.start());
                let (flown, read) = (layer.density_at(height), density(air, height));
                assert!((flown / read - 1.0).abs() < 1e-9, "{} at {height}: {flown:e} against {read:e}", body.name());
            }
        }
    }
}

/// Between neighbouring layers density does not jump by more than the standard's own seam at 86 km (its table prints four digits
/// there), and at the seam of Titan's measured rows by what those miss the gas law of the mix above.
#[test]
fn density_is_continuous() {
    for body in bodies() {
        let air = body.air().expect("air");
        for pair in air.layers().windows(2) {
            let edge = pair[1].start();
            let jump = (pair[1].density_at(edge) / pair[0].density_at(edge) - 1.0).abs();
            let bound = match body.name() {
                "Titan" if edge == 146.8e3 => 0.04,
                "Venus" if edge == 100e3 => 0.02,
                "Earth" if edge >= 86e3 => 2e-5,
                _ => 1e-9,
            };
            assert!(jump < bound, "{} at {edge} m jumps by {jump:e}", body.name());
        }
    }
}

/// dp/dz = -density g: by central differences over 20 m. Models that integrate the balance meet it to the error of the difference,
/// (10 m/H)² / 6 < 1e-5 for scale heights above 2 km; the standard above 86 km is in diffusive, not hydrostatic, balance by a few per cent
/// where oxygen is made (95 to 115 km) and by less elsewhere.
#[test]
fn air_carries_its_own_weight() {
    let slope = |air: &Air, z: f64| {
        let pressure = |z: f64| air.at(z).expect("air").pressure;
        -(pressure(z + 10.0) - pressure(z - 10.0)) / 20.0
    };
    for name in ["Veyra", "Maren", "Keld"] {
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("built in");
        let body = velm.body(name).expect("a body");
        let air = body.air().expect("air");
        for part in [0.02, 0.21, 0.43, 0.67, 0.91] {
            let z = part * air.top();
            let weight = density(air, z) * body.gm() / (body.radius() + z).powi(2);
            assert!((slope(air, z) / weight - 1.0).abs() < 1e-5, "{name} at {z} m");
        }
    }
    let earth = sol("Earth");
    let air = earth.air().expect("air");
    for (z, bound) in [
        (3e3, 1e-5),
        (15e3, 1e-5),
        (40e3, 1e-5),
        (60e3, 1e-5),
        (83e3, 1e-5),
        (88e3, 0.01),
        (200e3, 0.01),
        (400e3, 0.01),
    ] {
        let weight = density(air, z) * 9.806_65 * (6_356_766.0_f64 / (6_356_766.0 + z)).powi(2);
        assert!((slope(air, z) / weight - 1.0).abs() < bound, "Earth at {z} m: {}", slope(air, z) / weight);
    }
}

/// Printed: sea level 6.6332e-8 m and 1.7894e-5 Pa s, 100 km 0.142 m. [US1976], tables II and III (from memory)
#[test]
fn the_standard_gives_viscosity_and_free_path() {
    let earth = sol("Earth");
    let at = |z: f64| earth.air().and_then(|air| air.at(z)).expect("air");
    let path = |z: f64| at(z).mean_free_path.expect("a free path");
    assert!((path(0.0) / 6.6332e-8 - 1.0).abs() < 1e-4);
    assert!((path(100e3) / 0.142 - 1.0).abs() < 5e-3);
    assert!((at(0.0).viscosity.expect("viscosity") / 1.7894e-5 - 1.0).abs() < 3e-5);
    assert!(at(90e3).viscosity.is_none());
    assert!(at(1000e3).density > 0.0 && earth.air().expect("air").at(1000.001e3).is_none());
}

/// Air turns as the ground does: ω × r is the derivative of a place fixed to the body, by a difference over ten minutes: the error is
/// (ω t)²/6 or 3e-4 for the Earth; poles move by far less. Venus turns westward.
#[test]
fn air_turns_with_the_ground() {
    for (name, bound) in [("Earth", 4e-4), ("Venus", 1e-6), ("Mars", 4e-4), ("Titan", 1e-6)] {
        let body = sol(name);
        let epoch = body.system().epoch();
        let fixed = Vec3::new(0.6, 0.3, 0.4) * body.radius();
        let at = |seconds: f64| body.body_fixed(epoch.try_after(seconds).expect("an epoch")) * fixed;
        let moved = (at(300.0) - at(-300.0)) / 600.0;
        let turning = body.air_velocity(&at(0.0), epoch);
        assert!((moved - turning).norm() < bound * turning.norm(), "{name}: {moved} against {turning}");
    }
}
