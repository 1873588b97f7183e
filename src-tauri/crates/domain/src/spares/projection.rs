pub(super) mod draw;
