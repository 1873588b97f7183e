mod effects;
mod keys;
pub(crate) mod made;
mod table;
