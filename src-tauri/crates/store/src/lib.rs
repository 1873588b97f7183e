//! Table of contents.
