//! The binary: parse the command line, call the library, end with its exit code.

/// A tree of texts is many small pieces, each soon given back: a quarter of the time of `lint` went into that.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    ruleout::cli::run(ruleout::cli::parse()).into()
}
