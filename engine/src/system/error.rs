//! What can be wrong with the text of a system, where it stands, and what to write instead.

use std::ops::Range;

/// What is wrong with a system file, or with a name asked of a system.
///
/// `span` is a range of bytes of the text that was read, for a line with a caret; names asked of a finished system have none.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{problem}")]
pub struct SystemError {
    problem: Box<Problem>,
    span: Option<Range<usize>>,
}

impl SystemError {
    pub(crate) fn at(span: Range<usize>, problem: Problem) -> Self {
        Self { problem: Box::new(problem), span: Some(span) }
    }

    pub(crate) fn nowhere(problem: Problem) -> Self {
        Self { problem: Box::new(problem), span: None }
    }

    /// The facts of the error.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// Bytes of the text that the error is about.
    pub fn span(&self) -> Option<Range<usize>> {
        self.span.clone()
    }

    /// What is wrong, in one line: lower case, no full stop.
    pub fn message(&self) -> String {
        self.problem.to_string()
    }

    /// What to write instead, where that is known.
    pub fn hint(&self) -> Option<String> {
        self.problem.hint()
    }
}

/// The kinds of mistakes. `owner` is the table that a key belongs to, such as "body `Maren`".
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "each variant's text says what its fields are")]
pub enum Problem {
    #[error("this is not TOML: {message}")]
    Toml { message: String },
    #[error("{owner} has no key `{key}`")]
    UnknownKey { owner: String, key: String, nearest: Option<String>, known: Vec<&'static str> },
    #[error("{owner} lacks `{key}`")]
    MissingKey { owner: String, key: &'static str, example: String },
    #[error("`{key}` of {owner} is {expected}, not {found}")]
    WrongKind { owner: String, key: String, expected: &'static str, found: &'static str, example: String },
    #[error("`{key}` of {owner} needs a unit; {number} alone says nothing")]
    BareNumber { owner: String, key: String, number: String, example: String },
    #[error("`{key}` of {owner} cannot be read: {message}")]
    Unreadable { owner: String, key: String, message: String, example: String },
    #[error("`{key}` of {owner} is {found}, where {expected} belongs")]
    WrongDimension { owner: String, key: String, expected: String, found: String, example: String },
    #[error("`{key}` of {owner} is {value}; it must be {needs}")]
    OutOfRange { owner: String, key: String, value: String, needs: String },
    #[error("{owner}: {why}")]
    Contradiction { owner: String, why: String, instead: String },
    #[error("{why}")]
    Refused { why: String, instead: String },
    #[error("a system needs at least one body")]
    NoBodies,
    #[error("{count} bodies are more than the {most} that a system may hold")]
    TooManyBodies { count: usize, most: usize },
    #[error("two bodies are called `{name}`")]
    DuplicateName { name: String },
    #[error("`{body}` goes round `{parent}`, which this system does not hold")]
    UnknownParent { body: String, parent: String, nearest: Option<String> },
    #[error("these bodies go round each other in a ring: {}", .bodies.join(", "))]
    ParentCycle { bodies: Vec<String> },
    #[error("no body is the root: each one names a parent")]
    NoRoot,
    #[error("`{first}` and `{second}` are both without a parent; a system has one root")]
    TwoRoots { first: String, second: String },
    #[error("body `{body}` has a parent and no orbit")]
    NoOrbit { body: String },
    #[error("body `{body}` is the root and cannot have an orbit")]
    RootWithOrbit { body: String },
    #[error("the orbit of `{body}` comes within {least} of the centre of `{parent}`, inside its radius of {radius}")]
    OrbitInsideParent { body: String, parent: String, least: String, radius: String },
    #[error("no system is called `{name}`")]
    UnknownSystem { name: String, nearest: Option<String> },
    #[error("{system} has no body `{name}`")]
    UnknownBody { system: String, name: String, nearest: Option<String> },
    #[error("`{system}` has one ephemeris only, its fixed conics")]
    NoSuchEphemeris { system: String },
    #[error("no ephemeris is called `{name}`")]
    UnknownEphemeris { name: String },
    #[error("the built-in table {table} is damaged: {message}")]
    DamagedTable { table: &'static str, message: String },
}

impl Problem {
    fn hint(&self) -> Option<String> {
        match self {
            Self::UnknownKey { nearest, known, .. } => Some(match nearest {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("it may hold: {}", known.join(", ")),
            }),
            Self::MissingKey { example, .. }
            | Self::WrongKind { example, .. }
            | Self::BareNumber { example, .. }
            | Self::Unreadable { example, .. }
            | Self::WrongDimension { example, .. } => Some(format!("write {example}")),
            Self::Contradiction { instead, .. } | Self::Refused { instead, .. } => Some(instead.clone()),
            Self::NoBodies => Some("begin with [[body]], name, gm and radius".into()),
            Self::DuplicateName { .. } => Some("give one of them another name".into()),
            Self::UnknownParent { nearest, .. }
            | Self::UnknownBody { nearest, .. }
            | Self::UnknownSystem { nearest, .. } => nearest.as_ref().map(|near| format!("did you mean `{near}`?")),
            Self::ParentCycle { .. } | Self::NoRoot => Some("leave `parent` out for the body in the middle".into()),
            Self::TwoRoots { second, first } => Some(format!("give `{second}` a parent: parent = \"{first}\"")),
            Self::NoOrbit { .. } => Some(
                "write orbit = { plane = \"reference\", semi_major_axis = \"1.85 au\", eccentricity = 0.025, inclination = \"0.4 deg\", \
                 ascending_node = \"95 deg\", argument_of_periapsis = \"265 deg\", mean_anomaly = \"15.7 deg\" }"
                    .into(),
            ),
            Self::RootWithOrbit { .. } => Some("leave `orbit` out, or give the body a parent".into()),
            Self::UnknownEphemeris { .. } => {
                Some("`sol` has \"pack\" (1950 to 2100, about 1 km), \"mean\" (3000 BC to AD 3000) and \"mean 1800-2050\"".into())
            }
            Self::NoSuchEphemeris { .. } => Some("leave the choice of ephemeris out".into()),
            _ => None,
        }
    }
}

/// The known name that is nearest to `wanted`, if one is near enough to be meant.
pub(crate) fn nearest<'n>(wanted: &str, names: impl IntoIterator<Item = &'n str>) -> Option<String> {
    let lower = wanted.to_lowercase();
    names
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(&lower, &name.to_lowercase()), name))
        .filter(|(distance, name)| *distance <= (name.chars().count().max(lower.chars().count()) / 3).max(1))
        .min_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.cmp(b.1)))
        .map(|(_, name)| name.to_string())
}
