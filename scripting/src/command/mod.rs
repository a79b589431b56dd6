//! The command line: one file for each command.

mod bodies;
mod check;
mod doc;
mod eval;
pub(crate) mod output;
mod progress;
mod repl;
mod run;

use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::{Parser, Subcommand};

/// Plan, rehearse and narrate space missions.
#[derive(Debug, Parser)]
#[command(name = "visviva", version, about, disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Rehearse a script; print its answers, ledger and audit
    Run(run::Run),
    /// Evaluate one expression
    Eval(eval::Eval),
    /// Say everything that can be said about scripts without running them
    Check(check::Check),
    /// Look up the bodies of a system
    Bodies(bodies::Bodies),
    /// Look up the words of the language
    Doc(doc::Doc),
    /// Work interactively
    Repl(repl::Repl),
}

/// A command that has said all there is to say, with its exit status.
pub(crate) type Status = u8;

/// Usage: the command line cannot be carried out.
pub(crate) const USAGE: Status = 2;

/// The flag that Ctrl-C sets. The second press ends the program at once.
pub(crate) fn interrupt() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let seen = Arc::clone(&flag);
    // Fails only when another handler is in place; then that one decides.
    let _ = ctrlc::set_handler(move || {
        if seen.swap(true, Ordering::SeqCst) {
            std::process::exit(130);
        }
    });
    flag
}

/// Carries out the command line of this process.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let status = if error.use_stderr() { USAGE } else { 0 };
            // Nothing can be said where printing fails.
            let _ = error.print();
            return ExitCode::from(status);
        }
    };
    ExitCode::from(match arguments.command {
        Command::Run(run) => run.carry_out(),
        Command::Eval(eval) => eval.carry_out(),
        Command::Check(check) => check.carry_out(),
        Command::Bodies(bodies) => bodies.carry_out(),
        Command::Doc(doc) => doc.carry_out(),
        Command::Repl(repl) => repl.carry_out(),
    })
}
