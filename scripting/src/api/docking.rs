//! The verb `join`: rendezvous' end, two craft become one.

use visviva_engine::voyage::{JoinLimits, Payer, VoyageError};

use super::definition::{Answer, Definition, Example, Parameter};
use super::given::Given;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::{Kind, LENGTH, SPEED};
use super::value;

const LIMITS: &[Parameter] = &[
    Parameter::optional(
        "within",
        LENGTH,
        "greatest distance; 1 km when left out: so much of the way is closed without a charge",
    ),
    Parameter::optional("speed", SPEED, "greatest relative speed; 10 m/s when left out: it is matched and charged"),
    Parameter::optional("pays", Kind::Text, "\"this\" (when left out) or \"other\": who matches the velocities"),
];

fn join(given: &Given) -> Answer {
    let (handle, other, options) = (given.this::<Handle>()?, given.noun::<Handle>(0)?, given.options(1)?);
    let mut limits = JoinLimits::default();
    if let Some(within) = options.si("within")? {
        limits.within = within;
    }
    if let Some(speed) = options.si("speed")? {
        limits.speed = speed;
    }
    match options.text("pays")?.as_deref() {
        None | Some("this") => {}
        Some("other") => limits.payer = Payer::Other,
        Some(word) => {
            return Err(options
                .fault("pays", format!("`{word}` does not pay"))
                .help("write pays: \"this\" or pays: \"other\""));
        }
    }
    let done = handle.act_on_both(given, &other, |voyage, other, watch| {
        voyage.join(other, &limits, watch).map_err(|error| {
            let fault = refused(&error).at(0);
            match error {
                VoyageError::TooFar { .. } => fault.help(
                    "fly nearer first: v.meet(other, #{ within: 10.hours }), or `phase` in a common orbit; or allow more: #{ within, speed }",
                ),
                _ => fault,
            }
        })
    })?;
    Ok(done.map_or(rhai::Dynamic::UNIT, |name| value::text(&name)))
}

/// A craft and another one that it let go, a minute ago.
macro_rules! parted {
    ($ask:literal) => {
        concat!(
            "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\").without(\"core\").without(\"departure\"), ",
            "circular(s.Maren, 450.km)); let a = v.release(\"ascent craft\", #{ speed: 0.2.m_s }); v.coast(60.s); ",
            $ask
        )
    };
}

/// The definition of the verb.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Docks with another craft: the earlier of both coasts to the other's epoch, velocities are matched and charged, masses summed.",
    parameters: &[
        Parameter::new("other", VOYAGE, "near enough and slow enough; it ends as \"joined\""),
        Parameter::optional("limits", Kind::Options(LIMITS), "how near, how slow, who pays"),
    ],
    returns: (Kind::Text, "the name under which it is carried from now on: `release` lets it go again"),
    source: Some("conservation of momentum; approach and contact themselves are not modelled"),
    see_also: &["rendezvous", "Voyage.meet", "Voyage.release"],
    examples: &[
        Example::exact(
            parted!("v.join(a); [v.vehicle.carries.contains(\"ascent craft\"), a.outcome]"),
            "[true, \"joined\"]",
        ),
        Example::close(parted!("v.join(a, #{ pays: \"other\" }); a.ledger.dv"), "0.2.m_s", "0.01.m_s"),
    ],
    changes: true,
    ..Definition::method("Voyage", "join", join)
}];
