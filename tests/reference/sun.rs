//! Where the Sun stands in the sky of the Earth, against a table of an astronomy library.

use visviva_engine::system::{EphemerisChoice, Site, System};
use visviva_engine::time::Epoch;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// How far the meridian of the IAU's rotation model may be from the Earth's own, deg: its formula is linear in TDB, so it has the slowing of
/// the Earth (69 s of ΔT in 2021, 43 s in 1972) as of one date; its remainder is 0.074 deg in 2021. The file's own tolerance is 0.03 deg, and light
/// time and aberration, which are left out, 0.006 deg.
const MERIDIAN: f64 = 0.09;

pub(crate) fn table() -> Table {
    let file = "flight/sun_elevation.toml";
    let mut table = Table::new(
        file,
        "general-purpose astronomy library (IAU SOFA algorithms), without refraction, as each case says",
    );
    let earth = System::embedded("sol", EphemerisChoice::Default).and_then(|sol| sol.body("Earth")).expect("the Earth");
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let figure = |part: &str, key: &str| number(&case[part], key).unwrap_or(f64::NAN);
        let (latitude, longitude) = (figure("inputs", "latitude_deg"), figure("inputs", "longitude_east_deg"));
        let epoch =
            Epoch::parse(&format!("{} UTC", case["inputs"]["epoch_utc"].as_str().expect("text"))).expect("an epoch");
        let site = Site::new(&earth, latitude.to_radians(), longitude.to_radians(), 0.0).expect("a site");
        let seen = site.sun_elevation(epoch).and_then(|up| Ok((up, site.sun_azimuth(epoch)?)));
        match seen {
            Err(why) => table.failed(id, why),
            Ok((up, azimuth)) => {
                let meant = figure("expected", "elevation_deg");
                table.add(format!("{id} elevation"), (up.to_degrees() - meant).abs(), MERIDIAN + 0.03, "deg");
                let off = (azimuth.to_degrees() - figure("expected", "azimuth_deg") + 180.0).rem_euclid(360.0) - 180.0;
                // A turn about the pole moves the azimuth the more, the higher the Sun: by 1/cos of its elevation at most.
                let bound = (MERIDIAN + 0.05) / meant.to_radians().cos();
                table.add(format!("{id} azimuth"), off.abs(), bound, "deg");
            }
        }
    }
    table
}
