//! Every mistake in a system file has its own message, place and advice. One test per mistake.

use super::{Problem, System, SystemError};

/// A star and a planet; `planet` and `more` are spliced in.
fn file(planet: &str, more: &str) -> String {
    format!(
        r#"epoch = "2140-01-01T00:00:00 TDB"

[[body]]
name = "Star"
gm = "1.5e11 km^3/s^2"
radius = "8e5 km"

[[body]]
name = "Home"
parent = "Star"
{planet}

{more}
"#
    )
}

const SOUND: &str = r#"gm = "98000 km^3/s^2"
radius = "4250 km"
orbit = { plane = "reference", semi_major_axis = "1.85 au", eccentricity = 0.025, inclination = "0.4 deg", ascending_node = "95 deg", argument_of_periapsis = "265 deg", mean_anomaly = "15.7 deg" }"#;

#[track_caller]
fn refused(text: &str) -> SystemError {
    System::parse(text, "test").expect_err("this text is wrong")
}

/// Parses, and checks the message, what the span covers, and the hint.
#[track_caller]
fn check(text: &str, message: &str, covered: &str, hint: &str) {
    let error = refused(text);
    assert!(error.message().contains(message), "message: {}", error.message());
    let span = error.span().map_or("", |span| &text[span]);
    assert!(span.contains(covered), "the span covers: {span}");
    let found = error.hint().unwrap_or_default();
    assert!(found.contains(hint), "hint: {found}");
}

#[test]
fn a_sound_file_is_read() {
    let system = System::parse(&file(SOUND, ""), "test").expect("sound");
    assert_eq!(system.name(), "test");
    assert_eq!(system.bodies().iter().map(|body| body.name().to_string()).collect::<Vec<_>>(), ["Star", "Home"]);
    assert!(system.warnings().is_empty());
}

#[test]
fn text_that_is_not_toml() {
    check("epoch = \n[[body", "this is not TOML", "", "");
}

#[test]
fn an_unknown_key_with_the_nearest_one() {
    check(
        &file(&SOUND.replace("radius", "raduis"), ""),
        "`Home` has no key `raduis`",
        "raduis",
        "did you mean `radius`",
    );
}

#[test]
fn an_unknown_key_far_from_any() {
    check(&file(SOUND, "[colour]\nx = 1"), "has no key `colour`", "colour", "it may hold: name, epoch, body");
}

#[test]
fn a_missing_key() {
    let text = file(&SOUND.replace("radius = \"4250 km\"", ""), "");
    check(&text, "body `Home` lacks `radius`", "[[body]]", "write radius = \"4250 km\"");
}

#[test]
fn a_missing_epoch() {
    check("name = \"x\"", "the system lacks `epoch`", "", "write epoch = \"2140-01-01T00:00:00 TDB\"");
}

#[test]
fn a_bare_number_where_a_unit_belongs() {
    let text = file(&SOUND.replace("\"4250 km\"", "4250"), "");
    check(&text, "`radius` of body `Home` needs a unit; 4250 alone says nothing", "4250", "write radius = \"4250 km\"");
}

#[test]
fn a_quantity_of_the_wrong_dimension() {
    let text = file(&SOUND.replace("\"4250 km\"", "\"4250 s\""), "");
    check(&text, "`radius` of body `Home` is time, where length belongs", "4250 s", "write radius");
}

#[test]
fn a_quantity_that_cannot_be_read() {
    let text = file(&SOUND.replace("\"4250 km\"", "\"big\""), "");
    check(&text, "`radius` of body `Home` cannot be read", "big", "write radius");
}

#[test]
fn a_value_of_the_wrong_kind() {
    check(
        &file(&SOUND.replace("0.025", "\"round\""), ""),
        "is a finite number, not text",
        "round",
        "eccentricity = 0.025",
    );
    check(&file(&SOUND.replace("0.025", "nan"), ""), "a finite number", "nan", "eccentricity = 0.025");
    check("epoch = 5", "is text, not a number", "5", "write epoch");
    check("epoch = \"2140-01-01T00:00:00 TDB\"\nbody = [1]", "a list of tables", "1", "[[body]]");
}

#[test]
fn a_parent_that_is_not_there() {
    let text = file(SOUND, "").replace("parent = \"Star\"", "parent = \"Stra\"");
    check(&text, "`Home` goes round `Stra`", "Stra", "did you mean `Star`?");
}

#[test]
fn parents_in_a_ring() {
    let text =
        file(SOUND, "[[body]]\nname = \"Twin\"\nparent = \"Home\"\n").replace("parent = \"Star\"", "parent = \"Twin\"");
    let text = format!("{text}{SOUND}");
    let error = refused(&text);
    assert_eq!(error.problem(), &Problem::ParentCycle { bodies: vec!["Home".into(), "Twin".into()] });
    assert!(error.hint().is_some_and(|hint| hint.contains("leave `parent` out")));
}

#[test]
fn a_body_that_goes_round_itself() {
    let text = file(SOUND, "").replace("parent = \"Star\"", "parent = \"Home\"");
    check(&text, "go round each other in a ring: Home", "Home", "leave `parent` out");
}

#[test]
fn no_bodies() {
    check("epoch = \"2140-01-01T00:00:00 TDB\"", "at least one body", "", "begin with [[body]]");
}

#[test]
fn two_roots() {
    let text = file(SOUND, "").replace("parent = \"Star\"\n", "");
    check(&text, "`Star` and `Home` are both without a parent", "Home", "give `Home` a parent: parent = \"Star\"");
}

#[test]
fn masses_and_radii_that_are_not_positive() {
    for (wrong, covered) in [("\"0 km^3/s^2\"", "0 km^3/s^2"), ("\"-3 km^3/s^2\"", "-3 km^3/s^2")] {
        check(&file(&SOUND.replace("\"98000 km^3/s^2\"", wrong), ""), "it must be positive", covered, "");
    }
    check(&file(&SOUND.replace("\"4250 km\"", "\"-4250 km\""), ""), "is -4250 km; it must be positive", "-4250 km", "");
}

#[test]
fn an_orbit_that_does_not_close() {
    for open in ["1.0", "1.7", "-0.1"] {
        check(&file(&SOUND.replace("0.025", open), ""), "from 0 to less than 1", open, "");
    }
}

#[test]
fn an_orbit_through_the_parent() {
    check(&file(&SOUND.replace("1.85 au", "7.9e5 km"), ""), "inside its radius", "semi_major_axis", "");
}

#[test]
fn a_root_with_an_orbit_and_a_body_without_one() {
    let bare = SOUND.lines().filter(|line| !line.starts_with("orbit")).collect::<Vec<_>>().join("\n");
    check(&file(&bare, ""), "body `Home` has a parent and no orbit", "Home", "write orbit = {");
    let orbit = SOUND.lines().last().expect("the orbit");
    let text = file(SOUND, "").replace("radius = \"8e5 km\"", &format!("radius = \"8e5 km\"\n{orbit}"));
    check(&text, "is the root and cannot have an orbit", "plane", "leave `orbit` out");
}

#[test]
fn two_bodies_of_one_name() {
    let text = file(SOUND, "").replace("\"Home\"", "\"Star\"");
    check(&text, "two bodies are called `Star`", "Star", "another name");
}

#[test]
fn a_name_that_is_none() {
    for name in ["", " Home", "Ho\\nme"] {
        check(&file(SOUND, "").replace("\"Home\"", &format!("\"{name}\"")), "it must be a name without", "", "");
    }
}

#[test]
fn a_plane_that_is_none() {
    check(&file(&SOUND.replace("\"reference\"", "\"sideways\""), ""), "\"equator of parent\"", "sideways", "");
}

#[test]
fn a_locked_spin_said_twice() {
    let text = file(&format!("{SOUND}\nspin = {{ locked = true, period = \"22 h\" }}"), "");
    check(&text, "`period` says it twice", "22 h", "leave `period` out");
}

#[test]
fn a_spin_without_its_meridian() {
    let text = file(&format!("{SOUND}\nspin = {{ period = \"22 h\" }}"), "");
    check(&text, "lacks `meridian`", "period", "meridian = \"0 deg\"");
}

#[test]
fn air_whose_heights_do_not_rise() {
    let air = "air = { pressure = \"8 kPa\", molar_mass = \"33 g/mol\", heat_ratio = 1.35, top = \"320 km\", temperature = [[\"0 km\", \"283 K\"], [\"0 km\", \"178 K\"]] }";
    check(&file(&format!("{SOUND}\n{air}"), ""), "a list of heights that begins at 0 and rises", "0 km", "");
}

#[test]
fn air_by_an_unknown_model_or_with_the_keys_of_another() {
    let air = |inside: &str| file(&format!("{SOUND}\nair = {{ {inside} }}"), "");
    check(&air("model = \"foggy\", top = \"100 km\""), "it must be \"layers\"", "foggy", "");
    check(&air("model = \"US 1976\", top = \"100 km\", pressure = \"1 bar\""), "has no key `pressure`", "pressure", "");
    check(&air("model = \"US 1976\", top = \"2000 km\""), "at most 1000 km", "2000 km", "");
    check(&air("model = \"US 1976\""), "lacks `top`", "", "top = \"122 km\"");
}

#[test]
fn rows_of_air_that_do_not_fit() {
    let gas = "molar_mass = \"44 g/mol\", heat_ratio = 1.3, top = \"100 km\"";
    let table = |rows: &str, more: &str| {
        file(&format!("{SOUND}\nair = {{ model = \"table\", {gas}, rows = [{rows}]{more} }}"), "")
    };
    let row = "[\"0 km\", \"210 K\", \"636 Pa\"]";
    check(&table("", ""), "two rows or more", "[]", "");
    check(&table(row, ""), "two rows or more", "[[", "");
    check(&table(&format!("{row}, [\"9 km\", \"190 K\"]"), ""), "a row of 2", "9 km", "");
    check(&table(&format!("{row}, [\"0 km\", \"190 K\", \"280 Pa\"]"), ""), "a list of heights that rises", "0 km", "");
    check(&table(&format!("{row}, [\"9 km\", \"190 K\", \"0 Pa\"]"), ""), "it must be positive", "0 Pa", "");
    check(
        &table(&format!("{row}, [\"9 km\", \"190 K\", \"280 K\"]"), ""),
        "is temperature, where pressure",
        "280 K",
        "",
    );
    let sound = format!("{row}, [\"9 km\", \"190 K\", \"280 Pa\"]");
    check(&table(&sound, ", temperature = [[\"9 km\", \"180 K\"]]"), "begins above the last row", "9 km", "");
    check(&table(&sound, ", ceiling = \"90 km\""), "at the top or above it", "90 km", "");
    let layers = "air = { model = \"exponential\", molar_mass = \"29 g/mol\", heat_ratio = 1.4, top = \"100 km\"";
    let exponential = |layers: &str| file(&format!("{SOUND}\n{layers} }}"), "");
    check(&exponential(layers), "lacks `layers`", "", "layers = [[");
    let low = format!("{layers}, layers = [[\"5 km\", \"1 kg/m^3\", \"7 km\"]]");
    check(&exponential(&low), "begins at 0 and rises", "5 km", "");
}

#[test]
fn a_sea_that_would_vanish_and_a_site_below_its_floor() {
    let sea = "sea = { salinity = \"31 g/kg\", density = \"1024 kg/m^3\", compressibility = \"4.5e-10 1/Pa\", depth = [\"0 m\", \"6200 m\"] }";
    let squeezed = sea.replace("4.5e-10", "4.5e-7");
    check(&file(&format!("{SOUND}\n{squeezed}"), ""), "would shrink to nothing", "salinity", "smaller compressibility");
    let deep = sea.replace("\"6200 m\"] }", "\"6200 m\"], site = [{ name = \"vent\", depth = \"9 km\" }] }");
    check(&file(&format!("{SOUND}\n{deep}"), ""), "inside the depths of the sea", "9 km", "");
}

#[test]
fn seas_out_of_their_equations() {
    let with = |sea: &str| file(&format!("{SOUND}\nsea = {{ {sea} }}"), "");
    let deep = "depth = [\"0 m\", \"6 km\"]";
    check(&with(&format!("model = \"brine\", {deep}")), "\"TEOS-10\", \"EOS-80\" or \"hydrocarbon\"", "brine", "");
    let salt = format!("model = \"TEOS-10\", salinity = \"46 g/kg\", temperature = \"277 K\", {deep}");
    check(&with(&salt), "from 0 to 42 g/kg", "46 g/kg", "");
    let warm = format!("model = \"EOS-80\", salinity = \"35 g/kg\", temperature = [[\"0 m\", \"400 K\"]], {deep}");
    check(&with(&warm), "271.15 K to 313.15 K", "400 K", "");
    let unordered = warm.replace("[[\"0 m\", \"400 K\"]]", "[[\"9 m\", \"290 K\"], [\"9 m\", \"280 K\"]]");
    check(&with(&unordered), "given at depths that rise", "9 m", "");
    let none = format!("model = \"TEOS-10\", salinity = \"35 g/kg\", {deep}");
    check(&with(&none), "lacks `temperature`", "", "temperature = \"277 K\"");
    let abyss = salt.replace("46", "35").replace("6 km", "90 km");
    check(&with(&abyss), "beyond the", "", "smaller depth");
    let mix = format!("model = \"hydrocarbon\", methane = 0.7, ethane = 0.2, temperature = \"93 K\", {deep}");
    check(&with(&mix), "add up to 0.89", "", "add up to 1");
    let hot = mix.replace("ethane = 0.2", "ethane = 0.3").replace("93 K", "200 K");
    check(&with(&hot), "where all its parts are liquids", "200 K", "");
}

#[test]
fn an_epoch_that_cannot_be_read() {
    check(&file(SOUND, "").replace("2140-01-01", "2140-13-01"), "cannot be read", "2140-13-01", "write epoch");
    check(&file(SOUND, "").replace("TDB", "UTC"), "counts no leap seconds", "UTC", "write epoch");
}

#[test]
fn a_child_outside_its_parents_sphere_is_a_warning() {
    let moon = r#"[[body]]
name = "Far"
parent = "Home"
gm = "1 km^3/s^2"
radius = "10 km"
orbit = { plane = "equator of parent", semi_major_axis = "2e6 km", eccentricity = 0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "0 deg" }"#;
    let system = System::parse(&file(SOUND, moon), "test").expect("odd, but sound");
    assert!(system.warnings().iter().any(|warning| warning.contains("outside the sphere of influence of `Home`")));
}

#[test]
fn names_asked_of_a_system() {
    let system = System::parse(&file(SOUND, ""), "test").expect("sound");
    let error = system.body("home").expect_err("names are exact");
    assert_eq!(error.message(), "test has no body `home`");
    assert_eq!(error.hint().as_deref(), Some("did you mean `Home`?"));
    let error = System::embedded("velma", super::EphemerisChoice::Default).expect_err("no such system");
    assert_eq!(error.hint().as_deref(), Some("did you mean `velm`?"));
}
