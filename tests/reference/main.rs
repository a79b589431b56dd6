//! The engine against values from outside it: one table for each file of reference values.
//!
//! `cargo test -p visviva-tests --test reference -- --nocapture` prints, for each table, the rows, those passed and the
//! row that comes nearest to its bound.

mod ascents;
mod assist_gradients;
mod assist_problems;
mod atmospheres;
mod bodies;
mod bplane;
mod budgets;
mod constant_thrust;
mod dives;
mod elements;
mod finite_burns;
mod flotation;
mod flown_flybys;
mod global_optimisation;
mod kepler;
mod lambert;
mod maneuvers;
mod mars_windows;
mod missions;
mod missions_dates;
mod opportunities;
mod optimal_flight;
mod porkchop;
mod propagation;
mod rockets;
mod seas;
mod solar_system;
mod sun;
mod time;

use visviva_tests::Table;

fn tables() -> Vec<Table> {
    vec![
        kepler::table(),
        kepler::textbook_table(),
        propagation::table(),
        propagation::conserved_table(),
        elements::table(),
        elements::textbook_table(),
        lambert::table(),
        lambert::least_time_table(),
        lambert::textbook_table(),
        lambert::opportunities_table(),
        lambert::full_turn_table(),
        bplane::table(),
        maneuvers::table(),
        maneuvers::practice_table(),
        rockets::table(),
        rockets::staging_table(),
        finite_burns::table(),
        optimal_flight::table(),
        constant_thrust::table(),
        ascents::table(),
        ascents::steering_table(),
        ascents::budgets_table(),
        missions::table(),
        missions_dates::table(),
        flown_flybys::table(),
        budgets::table(),
        opportunities::dates_table(),
        opportunities::minima_table(),
        porkchop::table(),
        global_optimisation::states_table(),
        global_optimisation::table(),
        sun::table(),
        time::scales_table(),
        time::cookbook_table(),
        time::leap_seconds_table(),
        time::before_1972_table(),
        time::calendar_table(),
    ]
}

#[test]
fn every_row_is_within_its_bound() {
    let mut tables = tables();
    tables.extend(bodies::tables());
    tables.extend(atmospheres::tables());
    tables.extend(seas::tables());
    tables.push(flotation::table());
    tables.extend(dives::tables());
    println!("{}", Table::heading());
    for table in &tables {
        println!("{}", table.line());
    }
    let rows: usize = tables.iter().map(|table| table.rows.len()).sum();
    let failed: usize = tables.iter().map(|table| table.failures().len()).sum();
    println!("in all {} tables: {rows} rows, {} passed", tables.len(), rows - failed);
    for table in &tables {
        assert!(!table.rows.is_empty(), "{} has no rows", table.name);
        println!("{}: {}", table.name, table.source);
    }
    let failures: Vec<String> = tables.iter().flat_map(Table::failures).collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
