//! `cargo xtask …`: the two commands that do all set-up, and the ones that developers use.

mod bench;
mod generate;
mod machine;
mod made_site;
mod packages;
mod process;
mod run;
mod screens;
mod test;

use std::process::ExitCode;

use process::Failure;

const HELP: &str = "\
cargo xtask run [--serve] [--store FILE] [--port N] [--lan] [--release]
    Installs what is missing, builds, and opens the window on a store. Without --store it
    makes one from sample-site/ and keeps it in target/. Without a display, or with --serve,
    the same screens are served on the loopback address and the address is printed.
cargo xtask test [STEP…]
    Installs what is missing and runs every check. Names of steps run only those:
    `cargo xtask test --list` prints them.
cargo xtask bench [NAME]
    Runs the benches, or the one of that name, in release mode.
cargo xtask setup
    Only installs what run and test need.
cargo xtask generate [--check]
    Writes schemas/api.json and ui/src/api/generated.ts from the table of commands.
    With --check it writes nothing and fails where they are out of date.
cargo xtask make-site FOLDER [--units N] [--history N] [--seed N]
    Writes the files of an invented plant. Without --units it is the one of sample-site/.
";

fn main() -> ExitCode {
    match dispatch() {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("\n{failure}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch() -> Result<(), Failure> {
    let mut args = lexopt::Parser::from_env();
    let Some(first) = args.next()? else {
        print!("{HELP}");
        return Ok(());
    };
    match first {
        lexopt::Arg::Value(command) => match command.to_string_lossy().as_ref() {
            "run" => run::run(&run::Options::parse(&mut args)?),
            "test" => test::test(&mut args),
            "bench" => bench::bench(&mut args),
            "setup" => {
                no_more(&mut args)?;
                machine::prepare(&[
                    packages::For::Build,
                    packages::For::Window,
                    packages::For::Test,
                ])
            }
            "generate" => generate::command(&mut args),
            "make-site" => made_site::command(&mut args),
            "help" => {
                print!("{HELP}");
                Ok(())
            }
            other => Err(Failure::new(format!(
                "\"{other}\" is not a command of cargo xtask. These are:\n\n{HELP}"
            ))),
        },
        lexopt::Arg::Long("help") | lexopt::Arg::Short('h') => {
            print!("{HELP}");
            Ok(())
        }
        other => Err(other.unexpected().into()),
    }
}

/// Refuses an argument that the command does not take.
fn no_more(args: &mut lexopt::Parser) -> Result<(), Failure> {
    match args.next()? {
        Some(arg) => Err(arg.unexpected().into()),
        None => Ok(()),
    }
}
