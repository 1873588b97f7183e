mod effects;
mod keys;
mod made;
mod table;
