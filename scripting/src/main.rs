//! The program `visviva`: parse the command line, call, set the exit status.

fn main() -> std::process::ExitCode {
    visviva::command::main()
}
