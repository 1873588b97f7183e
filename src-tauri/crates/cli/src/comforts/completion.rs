use crate::calls::Table;
use crate::outcome::Stop;
use crate::{output, program};
use clap::{Args, ValueEnum};
use clap_complete::Shell;

#[derive(Debug, Args)]
pub struct Completion {
    /// The shell that you type in
    #[arg(value_name = "SHELL")]
    shell: Known,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Known {
    Bash,
    Zsh,
    Fish,
}

impl Completion {
    pub fn run(&self, table: &Table) -> Result<(), Stop> {
        let shell = match self.shell {
            Known::Bash => Shell::Bash,
            Known::Zsh => Shell::Zsh,
            Known::Fish => Shell::Fish,
        };
        let mut script = Vec::new();
        clap_complete::generate(shell, &mut program::program(table), "slotkeep", &mut script);
        Ok(output::print(&String::from_utf8_lossy(&script))?)
    }
}
