//! The manual page and shell completions, made from the same description as the help texts.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use crate::cli::{Arguments, Failure, Outcome, files};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Completions {
    /// The shell
    shell: Shell,
}

impl Completions {
    /// Prints the script.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Arguments::command(), "azimark", &mut script);
        printed(&script)
    }
}

/// Prints the manual page in roff, the program's own first, then one section for each command.
pub fn page() -> Result<Outcome, Failure> {
    let mut command = Arguments::command();
    command.build();
    let mut page = Vec::new();
    let failed = |e: std::io::Error| format!("the manual page could not be made: {e}");
    clap_mangen::Man::new(command.clone()).render(&mut page).map_err(failed)?;
    for sub in command.get_subcommands().filter(|s| s.get_name() != "help") {
        let man = clap_mangen::Man::new(sub.clone());
        page.extend_from_slice(format!("\n.SH \"{}\"\n", sub.get_name().to_uppercase()).as_bytes());
        man.render_description_section(&mut page).map_err(failed)?;
        man.render_synopsis_section(&mut page).map_err(failed)?;
        man.render_options_section(&mut page).map_err(failed)?;
    }
    printed(&page)
}

fn printed(bytes: &[u8]) -> Result<Outcome, Failure> {
    files::print(&String::from_utf8_lossy(bytes))?;
    Ok(Outcome::Answered)
}
