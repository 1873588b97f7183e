//! Shared set-up of the tests of the whole program.
