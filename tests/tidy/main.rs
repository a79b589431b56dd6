//! The habits of the house, held by reading the tree itself: floors, sources, files.

mod files;
mod floors;
mod sources;
mod tree;
