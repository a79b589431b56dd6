//! One rehearsal, leg after leg.
