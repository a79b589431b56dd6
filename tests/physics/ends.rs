//! The two ends of a plan between bodies: leaving a moon for its planet's asymptote, and arriving in orbit.

use visviva_engine::arc::{ArrivalOrbit, ArrivalPlane, Parking, capture, departure};
use visviva_engine::conic::{hyperbola, propagate, time_since_periapsis};
use visviva_engine::orbit::Orbit;
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

fn body(name: &str) -> Body {
    System::embedded("velm", EphemerisChoice::Default).and_then(|system| system.body(name)).expect("a body of velm")
}

fn epoch() -> Epoch {
    Epoch::parse("2144-06-17T00:00:00 TDB").expect("a date")
}

/// Time and asymptote of the outer hyperbola are those asked for, and it passes the moon at the moon's own epoch.
#[test]
fn a_moon_is_left_for_the_asymptote_of_its_planet() {
    let (oru, maren) = (body("Oru"), body("Maren"));
    for v_infinity in
        [Vec3::new(2500.0, -1500.0, 300.0), Vec3::new(-1000.0, 2800.0, -200.0), Vec3::new(100.0, 3000.0, 1500.0)]
    {
        let left = departure(&maren, &Parking::Altitude(450e3), &oru, v_infinity, epoch()).expect("a departure");
        let passage = left.outward.first().expect("a hyperbola about Oru");
        let place = maren.state(passage.epoch).expect("a state");
        assert!((passage.state.position - place.position).norm() < 1e-6 * place.position.norm());
        // The root is found to a microsecond; the moon moves 7.4 km/s.
        let since = time_since_periapsis(oru.gm(), &passage.state);
        assert!((passage.epoch.seconds_since(epoch()) - since).abs() < 1e-4, "{since}");
        let outgoing = hyperbola::outgoing(oru.gm(), &passage.state).expect("a hyperbola");
        assert!((outgoing.v_infinity - v_infinity).norm() < 1e-9 * v_infinity.norm());
        // By flight: after a century the velocity has turned to the asymptote, within gm/(r v) of what is left of the fall.
        let far = propagate(oru.gm(), &passage.state, 3e9).expect("a flight");
        let left_over = 4.0 * oru.gm() / (far.position.norm() * v_infinity.norm());
        assert!((far.velocity - v_infinity).norm() < left_over, "{}", (far.velocity - v_infinity).norm());
        // The burn is along the velocity at periapsis, deep in Maren's field.
        let radius = maren.radius() + 450e3;
        let excess = passage.v_infinity_moon.norm();
        let expected = (excess * excess + 2.0 * maren.gm() / radius).sqrt() - (maren.gm() / radius).sqrt();
        assert!((left.dv() - expected).abs() < 1e-6, "{} {expected}", left.dv());
    }
}

/// A given orbit in the plane of the asymptote costs what the planner's own would; out of it, more.
#[test]
fn a_given_plane_is_kept_and_charged() {
    let veyra = body("Veyra");
    let equator = veyra.equator(epoch());
    let (x, y, z) = (equator.column(0).into_owned(), equator.column(1).into_owned(), equator.column(2).into_owned());
    let parking = Orbit::circular(&veyra, 180e3, epoch()).expect("an orbit");
    let flat = x * 1800.0 + y * 2100.0;
    let cost = |parking: &Parking, v: Vec3| departure(&veyra, parking, &veyra, v, epoch()).expect("a departure").dv();
    let given = Parking::Orbit(Box::new(parking));
    let free = Parking::Altitude(180e3);
    // The place of the burn is searched to about 1e-8 of a turn, and the cost is flat there.
    assert!((cost(&given, flat) - cost(&free, flat)).abs() < 1e-3);
    let mut last = cost(&given, flat);
    for tilt in [10.0_f64, 20.0, 40.0] {
        let steep = (flat.normalize() * tilt.to_radians().cos() + z * tilt.to_radians().sin()) * flat.norm();
        let charged = cost(&given, steep);
        assert!(charged > last && (cost(&free, steep) - cost(&free, flat)).abs() < 1e-6, "{tilt}: {charged}");
        last = charged;
    }
    assert!(departure(&body("Oru"), &given, &body("Oru"), flat, epoch()).is_err());
}

/// [Curtis2014], section 8.8: capture at periapsis into an ellipse.
#[test]
fn capture_is_at_the_periapsis_asked_for_in_the_plane_asked_for() {
    let veyra = body("Veyra");
    let v_infinity = Vec3::new(-1500.0, 1800.0, 1200.0);
    let pole = veyra.pole(epoch());
    let declination = (v_infinity.normalize().dot(&pole)).asin().abs();
    let wanted = ArrivalOrbit::Ellipse { periapsis_altitude: 300e3, apoapsis_altitude: 40_000e3 };
    let (low, high) = (veyra.radius() + 300e3, veyra.radius() + 40_000e3);
    let fast = (v_infinity.norm_squared() + 2.0 * veyra.gm() / low).sqrt();
    let expected = fast - (2.0 * veyra.gm() * high / (low * (low + high))).sqrt();
    for (plane, inclination) in [
        (ArrivalPlane::LeastInclined, declination),
        (ArrivalPlane::Retrograde, std::f64::consts::PI - declination),
        (ArrivalPlane::Polar, std::f64::consts::FRAC_PI_2),
    ] {
        let caught = capture(&veyra, v_infinity, epoch(), wanted, plane).expect("a capture");
        assert!((caught.dv() - expected).abs() < 1e-9 * fast);
        assert!((caught.orbit.periapsis_radius() / low - 1.0).abs() < 1e-12);
        assert!((caught.orbit.apoapsis_radius().expect("an ellipse") / high - 1.0).abs() < 1e-9);
        let normal = caught.hyperbola.angular_momentum().normalize();
        assert!((normal.dot(&pole).acos() - inclination).abs() < 1e-7, "{plane:?}");
        let incoming = hyperbola::incoming(veyra.gm(), caught.hyperbola.state()).expect("a hyperbola");
        assert!((incoming.v_infinity - v_infinity).norm() < 1e-9 * v_infinity.norm());
        assert!((incoming.aim - caught.aim).norm() < 1e-9 * caught.aim.norm());
    }
    let swapped = ArrivalOrbit::Ellipse { periapsis_altitude: 300e3, apoapsis_altitude: 200e3 };
    assert!(capture(&veyra, v_infinity, epoch(), swapped, ArrivalPlane::Polar).is_err());
}
