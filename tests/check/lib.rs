//! What the tests of this package share: the reader of reference tables and the closeness check.
