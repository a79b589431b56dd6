//! The noun `Tour`: what it prints and what it is in a document.

use serde_json::{Value, json};
use visviva_engine::arc::tour::{Tour, TourLeg};
use visviva_engine::quantity::Quantity;
use visviva_engine::vector::Vec3;

use super::noun::Noun;
use super::table::{Columns, date};
use super::value;

fn speed(si: f64) -> String {
    Quantity::speed(si).show()
}

fn length(si: f64) -> String {
    Quantity::length(si).show()
}

/// What one leg burns on its way, m/s.
fn leg_burn(leg: &TourLeg) -> String {
    leg.burn.map_or_else(String::new, |(epoch, dv)| format!("{} on {}", speed(dv.norm()), date(epoch)))
}

impl Noun for Tour {
    const NAME: &'static str = "Tour";
    const ABOUT: &'static str =
        "A way from body to body by passes of others: its legs, passes, burns, and what their refinement left open.";

    fn show(&self) -> String {
        use std::fmt::Write as _;
        let mut text = format!("tour {}", self.itinerary.words());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        row("depart", date(self.depart()));
        if let Some(arrive) = self.arrive() {
            let time = Quantity::time(arrive.seconds_since(self.depart())).show();
            row("arrive", format!("{}, after {time}", date(arrive)));
        }
        row("C3", format!("{:.3} km²/s²", self.v_inf_depart.norm_squared() / 1e6));
        row("v-infinity, arrival", speed(self.v_inf_arrive.norm()));
        row("Δv, departure", speed(self.departure_dv));
        row("Δv, on the way", speed(self.course_dv));
        if self.insertion.is_some() {
            row("Δv, arrival", speed(self.arrival_dv));
        }
        row("Δv, all", speed(self.dv));
        match &self.flown {
            Ok(flown) => {
                row("flown", format!("{} in all, {} of it corrections", speed(flown.dv), speed(flown.corrections_dv)));
            }
            Err(why) => row("flown", format!("not to its end: {why}")),
        }
        if !self.at_bounds.is_empty() {
            let words: Vec<String> = self
                .at_bounds
                .iter()
                .map(|one| format!("{} ({})", one.what, if one.upper { "upper" } else { "lower" }))
                .collect();
            row("presses against", words.join(", "));
        }
        let others = self.rivals.len().saturating_sub(1);
        let looked = if others == 0 && self.pruned == 0 {
            String::new()
        } else {
            format!("; cheapest of {} sequences, {} beginnings ruled out by energy", others + 1, self.pruned)
        };
        row("why", format!("{} evaluations, {}{looked}", self.evaluations, self.stop.why()));
        let mut legs =
            Columns::titled(&["leg", "to", "kind", ">turns", ">days", "arrive", ">v∞ out", ">v∞ in", "burn", ">miss"]);
        for (index, leg) in self.legs.iter().enumerate() {
            legs.row(&[
                (index + 1).to_string(),
                leg.to.name().to_owned(),
                leg.kind.words(),
                leg.revolutions.to_string(),
                format!("{:.2}", leg.arrive.seconds_since(leg.depart) / 86_400.0),
                date(leg.arrive),
                speed(leg.v_inf_depart.norm()),
                speed(leg.v_inf_arrive.norm()),
                leg_burn(leg),
                length(leg.miss),
            ]);
        }
        let _ = write!(text, "\n{}", legs.text());
        if self.passes.is_empty() {
            return text;
        }
        let mut passes = Columns::titled(&[
            "pass",
            "at",
            "epoch",
            ">altitude",
            ">turn",
            ">change of v",
            ">burn",
            ">v∞ mismatch",
            ">turn mismatch",
        ]);
        for (index, pass) in self.passes.iter().enumerate() {
            passes.row(&[
                (index + 1).to_string(),
                pass.body.name().to_owned(),
                date(pass.epoch),
                length(pass.altitude),
                value::degrees(pass.turn),
                speed(pass.gain),
                speed(pass.burn),
                speed(pass.residual.speed),
                value::degrees(pass.residual.turn),
            ]);
        }
        let _ = write!(text, "\n{}", passes.text());
        text
    }

    fn to_json(&self) -> Value {
        let speed = |si: f64| json!({ "value": si, "unit": "m/s" });
        let length = |si: f64| json!({ "value": si, "unit": "m" });
        let vector = |v: &Vec3| json!({ "value": [v.x, v.y, v.z], "unit": "m/s", "frame": "inertial" });
        let legs = self.legs.iter().map(|leg| {
            json!({
                "from": leg.from.name(), "to": leg.to.name(), "kind": leg.kind.words(), "revolutions": leg.revolutions,
                "depart": leg.depart.to_json(), "arrive": leg.arrive.to_json(),
                "v_inf_depart": vector(&leg.v_inf_depart), "v_inf_arrive": vector(&leg.v_inf_arrive),
                "burn": leg.burn.map(|(epoch, dv)| json!({ "epoch": epoch.to_json(), "dv": vector(&dv) })),
                "miss": length(leg.miss),
            })
        });
        let passes = self.passes.iter().map(|pass| {
            json!({
                "body": pass.body.name(), "epoch": pass.epoch.to_json(), "altitude": length(pass.altitude),
                "turn": { "value": pass.turn, "unit": "rad" }, "v_in": vector(&pass.v_in), "v_out": vector(&pass.v_out),
                "burn": speed(pass.burn), "change": speed(pass.gain),
                "mismatch": { "v_inf": speed(pass.residual.speed), "turn": { "value": pass.residual.turn, "unit": "rad" },
                    "altitude": length(pass.residual.altitude) },
            })
        });
        json!({
            "sequence": self.itinerary.words(),
            "depart": self.depart().to_json(), "arrive": self.arrive().map(|arrive| arrive.to_json()),
            "c3": { "value": self.v_inf_depart.norm_squared(), "unit": "m²/s²" },
            "dv_departure": speed(self.departure_dv), "dv_course": speed(self.course_dv), "dv_arrival": speed(self.arrival_dv),
            "dv": speed(self.dv),
            "legs": legs.collect::<Vec<_>>(), "passes": passes.collect::<Vec<_>>(),
            "flown": match &self.flown {
                Ok(flown) => json!({ "dv": speed(flown.dv), "corrections": speed(flown.corrections_dv) }),
                Err(why) => json!({ "why": why }),
            },
            "evaluations": self.evaluations, "why": self.stop.why(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}
