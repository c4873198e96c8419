//! What undoes something that was done in the author's words, in the author's words.

use crate::model::vehicle::Action;
use crate::model::vehicle::method::Method;

/// Something that was done in the author's words.
#[derive(Clone, Default)]
pub(in crate::run) struct Done {
    pub(super) text: String,
    pub(super) methods: Option<Vec<Method>>,
}

/// What undoes something that was done in the author's words.
pub(in crate::run) struct Undo {
    /// The words of what undoes it.
    pub(super) text: String,
    /// For its cautions; `None` where the author does not say it.
    pub(super) methods: Option<Vec<Method>>,
    pub(super) does: Done,
    /// It was undone on a way back.
    pub(super) is_undone: bool,
}

impl Undo {
    /// It took the ammeter out of the line: that comes before what bridges the line.
    pub(super) fn opens_the_line(&self) -> bool {
        self.does.methods.iter().flatten().any(|method| *method == Method::Amperes)
    }

    pub(super) fn action(&self) -> Action {
        Action::CarryOut { text: self.text.clone(), methods: self.methods.clone() }
    }

    pub(super) fn done_again(&self) -> Action {
        Action::CarryOut { text: self.does.text.clone(), methods: self.does.methods.clone() }
    }
}
