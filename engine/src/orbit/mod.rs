//! A conic about a body: events, crossings, encounters.
