//! The binary: parse the command line, call the library, end with its exit code.

fn main() -> std::process::ExitCode {
    ruleout::cli::run(ruleout::cli::parse()).into()
}
