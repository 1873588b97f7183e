//! What the benches and tests use of the task runner.

pub mod make_site;
