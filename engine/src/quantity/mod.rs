//! Quantities with their dimension: the one place where units exist.
