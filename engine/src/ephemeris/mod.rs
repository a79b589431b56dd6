//! Where a body is.
