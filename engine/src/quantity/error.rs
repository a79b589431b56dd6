//! What can go wrong with quantities, with the facts that a message needs.

use super::Dimension;

/// A refused operation, unit or text.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Two quantities that do not measure the same kind of thing.
    #[error("cannot {operation} {} and {}", left.described(), right.described())]
    Mismatch {
        /// "add", "subtract" or "compare".
        operation: &'static str,
        /// Dimension on the left.
        left: Dimension,
        /// Dimension on the right.
        right: Dimension,
    },
    /// A result that no finite number holds.
    #[error("cannot {operation}: the result is {result}")]
    NotFinite {
        /// "add", "divide by zero", "take the root of a negative quantity" and the like.
        operation: &'static str,
        /// "infinite", "not a number".
        result: &'static str,
    },
    /// A root or power whose dimension has exponents that are not kept.
    #[error("cannot take the {degree} of {}", dimension.described())]
    Exponent {
        /// "product", "root of degree 2" and the like.
        degree: String,
        /// Dimension of what was given.
        dimension: Dimension,
    },
    /// A unit that the table does not have.
    #[error("unknown unit `{unit}`{}", nearest.as_ref().map(|near| format!("; did you mean `{near}`?")).unwrap_or_default())]
    UnknownUnit {
        /// As it was written.
        unit: String,
        /// The nearest name in the table.
        nearest: Option<String>,
    },
    /// A unit of another kind.
    #[error("`{unit}` measures {}, this is {}", unit_dimension.described(), dimension.described())]
    WrongUnit {
        /// As it was written.
        unit: String,
        /// What the unit measures.
        unit_dimension: Dimension,
        /// What the quantity measures.
        dimension: Dimension,
    },
    /// A quantity of another kind than asked for.
    #[error("expected {}, got {}", expected.described(), got.described())]
    Unexpected {
        /// What was asked for.
        expected: Dimension,
        /// What was given.
        got: Dimension,
    },
    /// Text that does not begin with a number.
    #[error("`{text}` is not a quantity; write a number and a unit, as in `62 km`")]
    NotAQuantity {
        /// As it was written.
        text: String,
    },
    /// A temperature scale with its own zero inside of a product of units.
    #[error("`{unit}` has its own zero and stands alone; write kelvin (`K`) in `{text}`")]
    OffsetUnit {
        /// The unit.
        unit: String,
        /// The whole expression.
        text: String,
    },
}
