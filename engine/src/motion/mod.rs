//! How a craft moves: the patched-conic model.
