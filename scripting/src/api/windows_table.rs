//! A list of windows as one table, on the terminal and as a file.

use rhai::{Array, Dynamic};
use std::fmt::Write as _;
use visviva_engine::arc;
use visviva_engine::arc::lambert::Branch;

use super::definition::{Definition, Example};
use super::fault::Fault;
use super::kind::Kind;
use super::table::{Columns, csv_cell, date};
use super::value;
use super::windows::Window;

/// Which arc a window flies: type I or II, with its whole revolutions and branch, or broken.
pub(super) fn kind(window: &arc::Window) -> String {
    if window.plane_change.is_some() {
        return "broken plane".to_owned();
    }
    let half = if window.arc.theta < std::f64::consts::PI { "I" } else { "II" };
    let count = window.arc.family.revolutions;
    match window.arc.family.branch {
        Branch::Single => half.to_owned(),
        Branch::Left => format!("{count} rev {half} left"),
        Branch::Right => format!("{count} rev {half} right"),
    }
}

/// The windows of a list; `None` if one is something else, or there is none.
fn windows_of(list: &Array) -> Option<Vec<Window>> {
    if list.is_empty() {
        return None;
    }
    list.iter().map(|entry| entry.read_lock::<Window>().map(|window| window.clone())).collect()
}

fn text(windows: &[Window]) -> String {
    let mut table = Columns::titled(&[
        "depart",
        "arrive",
        ">days",
        "type",
        ">C3 km²/s²",
        ">v∞ out km/s",
        ">v∞ in km/s",
        ">decl. °",
        ">phase °",
        ">Δv out km/s",
        ">Δv way km/s",
        ">Δv in km/s",
        ">Δv km/s",
        "",
    ]);
    for window in windows {
        let window = window.flown();
        let figure = |si: Option<f64>, unit: f64, digits: usize| {
            si.map_or("–".to_owned(), |si| format!("{:.digits$}", si / unit))
        };
        let speed = |si: Option<f64>| figure(si, 1e3, 3);
        let degrees = |si: Option<f64>| figure(si.map(f64::to_degrees), 1.0, 1);
        let on_bound = if window.on_bound == [false, false] { "" } else { "on a bound" };
        table.row(&[
            date(window.depart),
            date(window.arrive),
            format!("{:.1}", window.flight_time / 86_400.0),
            kind(window),
            format!("{:.3}", window.c3 / 1e6),
            speed(window.v_inf_depart.map(|v| v.norm())),
            speed(window.v_inf_arrive.map(|v| v.norm())),
            degrees(window.declination),
            degrees(window.phase_angle),
            speed(Some(window.dv_departure)),
            speed(window.plane_change.as_ref().map(|change| change.burn.size())),
            speed(window.dv_arrival),
            speed(Some(window.dv_total)),
            on_bound.to_owned(),
        ]);
    }
    table.text()
}

/// The CSV text of a list of windows, all digits kept; `None` for any other list.
pub(super) fn csv(of: &Dynamic) -> Option<String> {
    let windows = windows_of(&*of.read_lock::<Array>()?)?;
    let mut text = String::from(
        "from,to,depart,arrive,flight_time_s,type,revolutions,c3_m2_s2,v_inf_depart_x_m_s,v_inf_depart_y_m_s,v_inf_depart_z_m_s,\
         v_inf_arrive_x_m_s,v_inf_arrive_y_m_s,v_inf_arrive_z_m_s,declination_rad,phase_angle_rad,dv_departure_m_s,\
         plane_change,dv_plane_change_m_s,dv_arrival_m_s,dv_m_s,why\n",
    );
    for window in &windows {
        let window = window.flown();
        let number = |si: Option<f64>| si.map_or(String::new(), |si| si.to_string());
        let vector =
            |v: Option<visviva_engine::vector::Vec3>| v.map_or(",,".to_owned(), |v| format!("{},{},{}", v.x, v.y, v.z));
        let change = window.plane_change.as_ref();
        let turned =
            change.and_then(|change| change.burn.plan.as_ref()).map_or(String::new(), |plan| plan.epoch.show());
        let _ = writeln!(
            text,
            "{},{},{},{},{},{},{},{},{},{},{},{},{},{turned},{},{},{},{}",
            csv_cell(window.from.name()),
            csv_cell(window.to.name()),
            window.depart.show(),
            window.arrive.show(),
            window.flight_time,
            kind(window),
            window.arc.family.revolutions,
            window.c3,
            vector(window.v_inf_depart),
            vector(window.v_inf_arrive),
            number(window.declination),
            number(window.phase_angle),
            window.dv_departure,
            number(change.map(|change| change.burn.size())),
            number(window.dv_arrival),
            window.dv_total,
            csv_cell(&window.why),
        );
    }
    Some(text)
}

/// The definition of `list.table`.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "The windows of a list as one table, in the list's order.",
    returns: (Kind::Text, "for `print`; `save(list, \"name.csv\")` keeps all digits"),
    see_also: &["windows", "list.cheapest", "save"],
    examples: &[Example::exact(
        "let s = system(\"velm\"); windows(s.Veyra, s.Oru, #{ between: [epoch(\"2140-06-01 TDB\"), epoch(\"2142-01-01 TDB\")], \
         parking: 180.km }).table.contains(\"C3\")",
        "true",
    )],
    ..Definition::property("list", "table", |given| {
        let list = given.this::<Array>()?;
        match windows_of(&list) {
            Some(windows) => Ok(value::text(text(&windows))),
            None if list.is_empty() => Ok(value::text("no windows")),
            None => Err(Fault::new("`table` expects a list of windows")),
        }
    })
}];
