//! What undoes something that was done in the author's words, in the author's words.

/// What undoes something that was done in the author's words.
pub(in crate::run) struct Undo {
    /// The words of what undoes it.
    pub(super) text: String,
    /// The words of what it undoes.
    pub(super) does: String,
    /// It was undone on a way back.
    pub(super) is_undone: bool,
}
