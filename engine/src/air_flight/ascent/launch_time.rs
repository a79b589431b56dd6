//! Launch time: when a site passes through the plane of an orbit.

use std::f64::consts::{PI, TAU};

use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// When a site comes into a plane, or nearest to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanePassage {
    /// When.
    pub epoch: Epoch,
    /// Whether the way along the orbit leads southward there.
    pub southward: bool,
    /// Angle of the site from the plane then, rad; zero but for rounding where the plane reaches the site's latitude.
    pub off: f64,
}

/// The first two passages of a site through a plane after an epoch; one, the nearest approach, where the plane does not reach the site's latitude; none on a
/// body that does not turn, or from its pole.
///
/// - `site`: place in the axes that turn with the body, m.
/// - `normal`: unit vector of the orbit's angular momentum, inertial.
/// - `lead`: how much earlier to lift off, s: what the ascent itself moves the node by. Below zero for later.
///
/// # Source
/// The site's hour angle from the plane's normal, cos(α − α₀) = −tan φ cot i; [Vallado2013], section 6.4.2.
pub fn plane_passages(body: &Body, site: &Vec3, normal: &Vec3, after: Epoch, lead: f64) -> Vec<PlanePassage> {
    let Some(spin) = body.spin() else { return Vec::new() };
    let rate = body.angular_velocity(after).norm();
    let turn = body.angular_velocity(after).dot(&body.pole(after)).signum();
    let up = site.norm();
    let from = after.after(lead);
    // Angle of the normal and of the site about the pole, at the first epoch.
    let place = |epoch: Epoch| body.body_fixed(epoch) * site / up;
    let axes = body.equator(from);
    let angle = |v: &Vec3| v.dot(&axes.column(1)).atan2(v.dot(&axes.column(0)));
    let (now, pole) = (place(from), axes.column(2).into_owned());
    let (sin_latitude, cos_latitude) = (now.dot(&pole), now.cross(&pole).norm());
    let (level, rise) = (normal.cross(&pole).norm(), normal.dot(&pole));
    if cos_latitude < 1e-9 || level < 1e-12 || rate <= 0.0 {
        return Vec::new();
    }
    let cosine = -sin_latitude * rise / (cos_latitude * level);
    // The two hour angles of the plane, or the one at which it comes nearest.
    let hours = if cosine.abs() <= 1.0 {
        vec![cosine.acos(), -cosine.acos()]
    } else {
        vec![if cosine > 0.0 { 0.0 } else { PI }]
    };
    let ahead = |hour: f64| {
        let way = (angle(normal) + hour - angle(&now)) * turn;
        way.rem_euclid(TAU) / rate
    };
    let mut found: Vec<PlanePassage> = hours
        .into_iter()
        .map(|hour| {
            let mut time = ahead(hour);
            // A turning that is not quite even, or a pole that moves, is met by a few steps of its own.
            if cosine.abs() <= 1.0 {
                for _ in 0..4 {
                    let there = place(from.after(time));
                    let speed = body.angular_velocity(from.after(time)).cross(&there).dot(normal);
                    if speed.abs() > 1e-3 * rate {
                        time -= (there.dot(normal) / speed).clamp(-0.01 * spin.period, 0.01 * spin.period);
                    }
                }
            }
            let epoch = from.after(time);
            let there = place(epoch);
            PlanePassage {
                epoch: epoch.after(-lead),
                southward: normal.cross(&there).dot(&pole) < 0.0,
                off: there.dot(normal).clamp(-1.0, 1.0).asin(),
            }
        })
        .collect();
    found.sort_by_key(|passage| passage.epoch);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    fn veyra() -> Body {
        System::embedded("velm", EphemerisChoice::Default).unwrap().body("Veyra").unwrap()
    }

    fn site(body: &Body, latitude: f64) -> Vec3 {
        Vec3::new(latitude.cos(), 0.0, latitude.sin()) * body.radius()
    }

    #[test]
    fn the_site_is_in_the_plane_at_both_passages() {
        let body = veyra();
        let epoch = body.system().epoch().after(1e6);
        let axes = body.equator(epoch);
        let normal = axes * Vec3::new(0.3, 0.4, 0.7).normalize();
        let found = plane_passages(&body, &site(&body, 0.4), &normal, epoch, 0.0);
        assert_eq!(found.len(), 2);
        for passage in &found {
            assert!(passage.off.abs() < 1e-9, "{}", passage.off);
            let wait = passage.epoch.seconds_since(epoch);
            assert!((0.0..=body.spin().unwrap().period * 1.001).contains(&wait), "{wait}");
        }
        assert_ne!(found[0].southward, found[1].southward);
        // A lead of a minute is a lift-off a minute earlier.
        let early = plane_passages(&body, &site(&body, 0.4), &normal, epoch, 60.0);
        assert!((found[0].epoch.seconds_since(early[0].epoch) - 60.0).abs() < 1e-3);
    }

    #[test]
    fn beyond_its_reach_the_plane_comes_nearest_once() {
        let body = veyra();
        let epoch = body.system().epoch();
        let tilt: f64 = 0.1;
        let normal = body.equator(epoch) * Vec3::new(tilt.sin(), 0.0, tilt.cos());
        let found = plane_passages(&body, &site(&body, 0.3), &normal, epoch, 0.0);
        assert_eq!(found.len(), 1);
        assert!((found[0].off.abs() - 0.2).abs() < 1e-6, "{}", found[0].off);
        assert!(plane_passages(&body, &Vec3::z(), &normal, epoch, 0.0).is_empty());
    }
}
