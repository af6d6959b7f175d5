//! The command line program; everything it does is in [`azimark::cli`].

fn main() -> std::process::ExitCode {
    azimark::cli::run()
}
