//! `visviva run SCRIPT`: rehearse, then print answers, ledger and audit.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::Duration;

use clap::Args;

use super::progress::Progress;
use super::{Status, interrupt, output};
use crate::ceiling::Limits;
use crate::run_state::Settings;
use crate::session::{Config, Outcome, Session};

/// Rehearse a script; print its answers, ledger and audit
#[derive(Debug, Args)]
pub(crate) struct Run {
    /// The script; `-` reads standard input
    script: PathBuf,
    /// Give an input its value: --set "first pass=172.km"
    #[arg(long, value_name = "NAME=VALUE")]
    set: Vec<String>,
    /// The model to fly in: conics (n-body is not there yet)
    #[arg(long)]
    model: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    json: bool,
    /// Folder below which the script may write
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Folder for the pictures that the script makes
    #[arg(long, value_name = "DIR")]
    pictures: Option<PathBuf>,
    /// End after this many seconds; without it the clock plays no part
    #[arg(long, value_name = "SECONDS")]
    time: Option<f64>,
}

impl Run {
    pub(crate) fn carry_out(self) -> Status {
        match self.model.as_deref() {
            None | Some("conics") => {}
            Some("n-body") => {
                return output::usage("the model `n-body` is not there yet; use conics");
            }
            Some(other) => {
                return output::usage(&format!("there is no model `{other}`; use conics"));
            }
        }
        if self.time.is_some_and(|time| !(time > 0.0 && time < 1e9)) {
            return output::usage("--time is a positive number of seconds");
        }
        let mut inputs = Vec::new();
        for set in &self.set {
            match set.split_once('=') {
                Some((name, text)) if !name.trim().is_empty() => {
                    inputs.push((name.trim().to_owned(), text.trim().to_owned()));
                }
                _ => return output::usage(&format!("--set is written name=value, not `{set}`")),
            }
        }
        let (name, text, folder) = match output::read_script(&self.script) {
            Ok(script) => script,
            Err(error) => return output::usage(&error),
        };
        let progress = Progress::begin(&format!("rehearsing {name}"));
        let config = Config {
            settings: Settings {
                inputs: inputs.clone(),
                folder: Some(folder),
                out: self.out.clone(),
                pictures: self.pictures.clone(),
                model: self.model.clone(),
            },
            limits: Limits { time: self.time.map(Duration::from_secs_f64), ..Limits::default() },
            interrupt: interrupt(),
            printer: (!self.json).then(|| progress.printer()),
            teller: Some(progress.teller()),
            lines: false,
        };
        let session = Session::new(config);
        // Before the run when it can be known, so that a slip of the pen costs no rehearsal.
        if let Ok(ast) = session.compile(&name, &text) {
            let declared = super::check::inputs(&ast);
            if declared.complete {
                let names: Vec<&str> = declared.inputs.iter().map(|input| input.name.as_str()).collect();
                if let Some((unknown, _)) = inputs.iter().find(|(set, _)| !names.contains(&set.as_str())) {
                    return output::usage(&no_input(unknown, &names));
                }
            }
        }
        let outcome = session.evaluate(&name, &text);
        progress.end();
        let mut status = outcome.status();
        let names: Vec<&str> = outcome.inputs.iter().map(|input| input.name.as_str()).collect();
        let unknown = inputs.iter().find(|(set, _)| !names.contains(&set.as_str())).filter(|_| outcome.ran());
        if let Some((unknown, _)) = unknown {
            output::complain(&format!("error: {}", no_input(unknown, &names)));
            status = i32::from(super::USAGE);
        }
        if self.json {
            output::line(&output::document(&name, &outcome, status).to_string());
        } else {
            output::print(&report(&outcome));
            output::diagnostics(&outcome.diagnostics, session.sources());
        }
        Status::try_from(status).unwrap_or(1)
    }
}

fn no_input(name: &str, names: &[&str]) -> String {
    let known = if names.is_empty() { "it has none".to_owned() } else { format!("it has {}", names.join(", ")) };
    match crate::diagnostic::nearest::nearest(name, names.iter().copied()) {
        Some(near) => format!("the script has no input `{name}`; did you mean `{near}`?"),
        None => format!("the script has no input `{name}`; {known}"),
    }
}

/// Answers, demands, voyages as text.
fn report(outcome: &Outcome) -> String {
    let mut text = String::new();
    let mut list = |title: &str, rows: Vec<(String, String)>| {
        if rows.is_empty() {
            return;
        }
        let width = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
        let _ = writeln!(text, "\n{title}");
        for (name, value) in rows {
            let gap = " ".repeat(width - name.chars().count());
            // A table stands below its name.
            let value = if value.contains('\n') { format!("\n    {}", value.replace('\n', "\n    ")) } else { value };
            let _ = writeln!(text, "  {name}{gap}  {value}");
        }
    };
    let show = crate::api::value::show;
    list("inputs", outcome.inputs.iter().map(|input| (input.name.clone(), show(&input.value))).collect());
    list("answers", outcome.records.iter().map(|record| (record.name.clone(), show(&record.value))).collect());
    let met = |met: bool| if met { "met" } else { "NOT MET" };
    list(
        "requirements",
        outcome
            .requirements
            .iter()
            .map(|requirement| (requirement.why.clone(), format!("{} ({})", met(requirement.met), requirement.place)))
            .collect(),
    );
    for voyage in outcome.voyages.iter().filter(|voyage| voyage.shown()) {
        text.push('\n');
        text.push_str(voyage.show().trim_end());
        text.push('\n');
    }
    text.trim_start_matches('\n').to_owned()
}
