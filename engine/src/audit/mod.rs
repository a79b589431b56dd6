//! The conservation laws every leg is held against.
