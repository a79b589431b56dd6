//! A tree of bodies, from TOML text.
