pub(super) fn commands() -> Vec<crate::table::Command> {
    vec![]
}
