//! Root finding with brackets, least squares, bounded local and global search, compensated sums.

pub(crate) mod elementary;
pub mod global;
pub mod lanes;
pub mod least_squares;
pub mod minimise;
pub mod minimum;
pub mod quasi_newton;
pub mod root;
pub mod sum;
pub mod watch;

#[cfg(test)]
mod published;
