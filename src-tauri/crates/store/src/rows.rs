//! How domain types are written down: each has a row of its own, in JSON.
//!
//! The names of fields and words here are the file format. They change only by a migration.

mod audits;
mod bodies;
mod change;
mod own_rules;
mod plain;
mod records;
mod swaps;

pub use bodies::{decode, encode, kind_of};
pub use change::{read_record, write_record};

use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

/// A stored text that says something the program cannot read.
#[derive(Debug, thiserror::Error)]
#[error("a stored {what} cannot be read: {why}")]
pub struct RowFault {
    pub what: &'static str,
    pub why: String,
}

impl RowFault {
    pub fn new(what: &'static str, why: impl ToString) -> Self {
        Self { what, why: why.to_string() }
    }
}

/// A domain type and the row that it is written as.
pub trait Stored: Sized {
    type Row: Serialize + DeserializeOwned;
    fn to_row(&self) -> Self::Row;
    fn from_row(row: Self::Row) -> Result<Self, RowFault>;
}

macro_rules! plain {
    ($($type:ty),*) => {$(
        impl Stored for $type {
            type Row = $type;
            fn to_row(&self) -> $type {
                self.clone()
            }
            fn from_row(row: $type) -> Result<Self, RowFault> {
                Ok(row)
            }
        }
    )*};
}

plain!(String, bool, i32, u8, u32, u64, i64, f64, [f64; 2], [f64; 12]);

impl<T: Stored> Stored for Box<T> {
    type Row = T::Row;
    fn to_row(&self) -> Self::Row {
        T::to_row(self)
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        T::from_row(row).map(Box::new)
    }
}

impl<T: Stored> Stored for Option<T> {
    type Row = Option<T::Row>;
    fn to_row(&self) -> Self::Row {
        self.as_ref().map(T::to_row)
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        row.map(T::from_row).transpose()
    }
}

impl<T: Stored> Stored for Vec<T> {
    type Row = Vec<T::Row>;
    fn to_row(&self) -> Self::Row {
        self.iter().map(T::to_row).collect()
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        row.into_iter().map(T::from_row).collect()
    }
}

impl<A: Stored, B: Stored> Stored for (A, B) {
    type Row = (A::Row, B::Row);
    fn to_row(&self) -> Self::Row {
        (self.0.to_row(), self.1.to_row())
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        Ok((A::from_row(row.0)?, B::from_row(row.1)?))
    }
}

impl<K, T> Stored for BTreeMap<K, T>
where
    K: Stored<Row = String> + Ord,
    T: Stored,
{
    type Row = BTreeMap<String, T::Row>;
    fn to_row(&self) -> Self::Row {
        self.iter().map(|(key, value)| (key.to_row(), value.to_row())).collect()
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        row.into_iter().map(|(key, value)| Ok((K::from_row(key)?, T::from_row(value)?))).collect()
    }
}

/// Types that are written as one text and read back by a function of their own.
macro_rules! text {
    ($($type:ty, $what:literal, $write:expr, $read:expr;)*) => {$(
        impl $crate::rows::Stored for $type {
            type Row = String;
            fn to_row(&self) -> String {
                #[allow(clippy::redundant_closure_call)]
                ($write)(self)
            }
            fn from_row(row: String) -> Result<Self, $crate::rows::RowFault> {
                #[allow(clippy::redundant_closure_call)]
                ($read)(row.as_str()).map_err(|why| $crate::rows::RowFault::new($what, why))
            }
        }
    )*};
}

/// Enums without data: each variant is one word.
macro_rules! words {
    ($($type:ty, $what:literal { $($variant:ident = $word:literal),* $(,)? })*) => {$(
        impl $crate::rows::Stored for $type {
            type Row = String;
            fn to_row(&self) -> String {
                match self { $(Self::$variant => $word,)* }.to_owned()
            }
            fn from_row(row: String) -> Result<Self, $crate::rows::RowFault> {
                match row.as_str() {
                    $($word => Ok(Self::$variant),)*
                    other => Err($crate::rows::RowFault::new($what, format!("{other:?}"))),
                }
            }
        }
    )*};
}

/// Structs: the row has the same fields, each as its own row.
///
/// A list that came later is left out where it is empty, so that rows from before read as they did
/// and are written as they were.
macro_rules! stored {
    ($($type:ident as $row:ident { $($(#[$how:meta])* $field:ident: $of:ty),* $(,)? })*) => {$(
        #[derive(serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $row {
            $($(#[$how])* $field: <$of as $crate::rows::Stored>::Row,)*
        }

        impl $crate::rows::Stored for $type {
            type Row = $row;
            fn to_row(&self) -> $row {
                $row { $($field: self.$field.to_row(),)* }
            }
            fn from_row(row: $row) -> Result<Self, $crate::rows::RowFault> {
                Ok(Self { $($field: <$of as $crate::rows::Stored>::from_row(row.$field)?,)* })
            }
        }
    )*};
}

pub(crate) use {stored, text, words};
