//! Root finding with brackets, least squares, bounded search, compensated sums.
