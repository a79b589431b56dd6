//! Epochs and time scales.
//!
//! An epoch is an instant, kept as integer nanoseconds of TDB past J2000, and the scale it is shown in. Mechanics counts `f64`
//! seconds from an epoch of its own choice; ephemerides take day and fraction apart.
//!
//! - TT is TAI + 32.184 s. TDB is TT plus the periodic series of Fairhead and Bretagnon at the geocentre. [FairheadBretagnon1990]
//! - UTC follows the leap seconds known when this was built (the last at 2017-01-01); later ones are not foreseen. From 1960 to 1971
//!   it follows the steps and rates of its time; before 1960 there was none, and such an instant is shown in TT.
//! - Seconds between epochs are TDB seconds. A day of TDB and a day of UTC differ by up to 30 µs, which shows when whole days are added to an
//!   epoch that is shown in UTC.
//! - Between scales an instant may move by 1 ns, because TDB nanoseconds and those of other scales are not the same length.

mod calendar;
mod epoch;
mod error;
mod scale;
mod tdb;
mod text;
mod utc;

pub use epoch::Epoch;
pub use error::TimeError;
pub use scale::Scale;
