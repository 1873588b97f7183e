//! The system packages that the project needs, in one table.

use crate::process::{self, Failure};

/// What a package is needed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum For {
    /// Anything that is compiled.
    Build,
    /// The desktop window.
    Window,
    /// The tests beside the plain Rust ones.
    Test,
}

/// One system package, by its name in Debian.
pub struct Package {
    pub name: &'static str,
    pub why: &'static str,
    pub needed: For,
}

/// Returns the packages of `wanted` that this Debian system does not have.
///
/// Fails when `dpkg-query` cannot be asked.
pub fn missing(wanted: &[For]) -> Result<Vec<&'static Package>, Failure> {
    let mut missing = Vec::new();
    for package in PACKAGES.iter().filter(|p| wanted.contains(&p.needed)) {
        if !installed(package.name)? {
            missing.push(package);
        }
    }
    Ok(missing)
}

/// Tells whether dpkg holds the package whole: one that was removed keeps a record of its settings.
fn installed(name: &str) -> Result<bool, Failure> {
    let mut query = process::program("dpkg-query");
    query.args(["--show", "--showformat=${db:Status-Status}", name]);
    let output = query
        .output()
        .map_err(|e| Failure::new(format!("`dpkg-query` could not be started: {e}")))?;
    Ok(output.status.success() && output.stdout == b"installed")
}

/// Packages of Debian 12. Elsewhere the names differ; the reasons help to find them.
pub const PACKAGES: &[Package] = &[
    Package { name: "build-essential", why: "C and C++ compilers", needed: For::Build },
    Package { name: "pkg-config", why: "finds system libraries", needed: For::Build },
    Package { name: "cmake", why: "builds the symbol reader zxing-cpp", needed: For::Build },
    Package {
        name: "libwebkit2gtk-4.1-dev",
        why: "the web view of the desktop window",
        needed: For::Window,
    },
    Package { name: "xvfb", why: "a virtual display for the window's test", needed: For::Test },
    Package { name: "xauth", why: "lets xvfb-run open that display", needed: For::Test },
    Package { name: "webkit2gtk-driver", why: "drives the real window", needed: For::Test },
    Package {
        name: "chromium",
        why: "shows the screens at phone and desk size",
        needed: For::Test,
    },
    Package { name: "ffmpeg", why: "films labels for the flows' camera", needed: For::Test },
    Package { name: "poppler-utils", why: "renders our PDF pages to pixels", needed: For::Test },
    Package {
        name: "zbar-tools",
        why: "reads our symbols back with a foreign decoder",
        needed: For::Test,
    },
];
