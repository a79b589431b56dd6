//! Physics that needs no table: what is conserved, what is reversible, what two ways must agree on.

mod afloat;
mod assists;
mod assists_powered;
mod atmospheres;
mod audit;
mod conics;
mod dives;
mod encounters;
mod ends;
mod integrators;
mod sensitivities;
mod system_files;
mod velm;
mod voyages;
mod windows;
