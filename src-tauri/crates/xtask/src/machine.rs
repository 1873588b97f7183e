//! Set-up of the machine: system packages and Node.

use std::path::Path;
use std::process::Command;

use crate::packages::{self, For, Package};
use crate::process::{self, Failure};

/// The oldest Node (major, minor) that the screens' build tool accepts.
const NODE_AT_LEAST: (u32, u32) = (20, 19);

/// Installs what is missing for `wanted`, saying first what and why.
///
/// On a system without apt it names the packages and goes on, since they may be there under
/// other names. Fails when apt fails, or when Node or npm is missing or too old.
pub fn prepare(wanted: &[For]) -> Result<(), Failure> {
    println!("== set-up");
    if has("apt-get") && has("dpkg-query") {
        install(&packages::missing(wanted)?)?;
    } else {
        println!("   This system has no apt. These packages (Debian's names) must be there:");
        for package in packages::PACKAGES.iter().filter(|p| wanted.contains(&p.needed)) {
            println!("   - {}: {}", package.name, package.why);
        }
    }
    check_node()
}

fn install(missing: &[&'static Package]) -> Result<(), Failure> {
    if missing.is_empty() {
        println!("   system packages: all there");
        return Ok(());
    }
    println!("   These system packages are missing and will be installed with apt-get:");
    for package in missing {
        println!("   - {}: {}", package.name, package.why);
    }
    let names: Vec<&str> = missing.iter().map(|p| p.name).collect();
    let by_hand = format!(
        "Install them by hand (apt-get update; apt-get install {}) and start the command again.",
        names.join(" ")
    );
    process::step("refresh the list of packages", apt()?.arg("update"), &by_hand)?;
    process::step("install", apt()?.args(["install", "--yes"]).args(&names), &by_hand)
}

/// `apt-get` as root, asking nothing.
fn apt() -> Result<Command, Failure> {
    let root = process::capture(process::program("id").arg("-u"))?.trim() == "0";
    if !root && !has("sudo") {
        return Err(Failure::new(
            "Installing needs root, and there is no sudo here. Start the command once as root, \
             or install the packages named above.",
        ));
    }
    let mut command = process::program(if root { "env" } else { "sudo" });
    if !root {
        command.arg("env");
    }
    command.args(["DEBIAN_FRONTEND=noninteractive", "apt-get", "--quiet"]);
    Ok(command)
}

fn check_node() -> Result<(), Failure> {
    let (major, minor) = NODE_AT_LEAST;
    let advice = format!(
        "The screens need Node {major}.{minor} or newer, with npm. Debian 12's own package is \
         older: install Node from its makers or with a version switcher, put it on PATH, and \
         start the command again."
    );
    let Ok(version) = process::capture(process::program("node").arg("--version")) else {
        return Err(Failure::new(format!("There is no `node` here. {advice}")));
    };
    if parse_version(&version).is_none_or(|found| found < NODE_AT_LEAST) {
        return Err(Failure::new(format!("`node` here is {}. {advice}", version.trim())));
    }
    let Ok(npm) = process::capture(process::program("npm").arg("--version")) else {
        return Err(Failure::new(format!("There is no `npm` here. {advice}")));
    };
    println!("   node {}, npm {}", version.trim(), npm.trim());
    Ok(())
}

/// Reads `v20.20.2` as (20, 20).
fn parse_version(text: &str) -> Option<(u32, u32)> {
    let mut parts = text.trim().trim_start_matches('v').split('.').map(str::parse);
    Some((parts.next()?.ok()?, parts.next()?.ok()?))
}

/// Tells whether a program of that name is on PATH.
pub fn has(name: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| Path::new(&folder).join(name).is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_the_version_that_node_prints() {
        assert_eq!(parse_version("v20.20.2\n"), Some((20, 20)));
        assert_eq!(parse_version("v9.1.0"), Some((9, 1)));
        assert_eq!(parse_version("nightly"), None);
        assert!((18, 20) < NODE_AT_LEAST && (20, 19) >= NODE_AT_LEAST && (22, 0) > NODE_AT_LEAST);
    }
}
