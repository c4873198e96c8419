//! Several screens on one run: a terminal and a phone, say. The first reply that fits is taken.

use super::answerer::Answerer;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::{Request, Token};
use super::view::View;
use crate::model::id::ReplyId;
use crate::model::origin::Origin;
use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, Sender, channel};

/// A screen that shows what is asked. It does not wait: what is typed there comes through its [`ScreenLine`].
pub trait Screen: Send {
    /// Shows what is asked.
    fn show(&mut self, request: Request<'_>, view: View<'_>);

    /// Is told.
    fn notice(&mut self, notice: Notice<'_>);
}

/// What a screen sent.
struct Sent {
    screen: usize,
    token: Token,
    reply: Reply,
}

/// How the replies of one screen reach the run.
#[derive(Clone, Debug)]
pub struct ScreenLine {
    screen: usize,
    sender: Sender<Sent>,
}

impl std::fmt::Debug for Sent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "screen {}: {:?} to {:?}", self.screen, self.reply, self.token)
    }
}

impl ScreenLine {
    /// Sends a reply to the question with this token. False when the run is over.
    pub fn send(&self, token: Token, reply: Reply) -> bool {
        self.sender.send(Sent { screen: self.screen, token, reply }).is_ok()
    }
}

/// Several screens on one run.
pub struct Screens {
    screens: Vec<Box<dyn Screen>>,
    /// Kept until the screens are all there: a run whose screens are all gone has nobody.
    sender: Option<Sender<Sent>>,
    sent: Receiver<Sent>,
    /// Whose reply was taken last: what is wrong with it is said there.
    taken_from: Option<usize>,
    /// What was taken: a reply that is sent again is no other reply.
    taken: BTreeSet<ReplyId>,
}

impl Default for Screens {
    fn default() -> Self {
        let (sender, sent) = channel();
        Self { screens: vec![], sender: Some(sender), sent, taken_from: None, taken: BTreeSet::new() }
    }
}

impl Screens {
    /// One more screen, made with the line on which it sends its replies.
    pub fn add(&mut self, screen: impl FnOnce(ScreenLine) -> Box<dyn Screen>) {
        if let Some(sender) = &self.sender {
            let line = ScreenLine { screen: self.screens.len(), sender: sender.clone() };
            self.screens.push(screen(line));
        }
    }

    fn tell(&mut self, screen: usize, notice: Notice<'_>) {
        if let Some(screen) = self.screens.get_mut(screen) {
            screen.notice(notice);
        }
    }
}

impl Answerer for Screens {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        // From now on only the screens themselves can send.
        self.sender = None;
        for screen in &mut self.screens {
            screen.show(request, view);
        }
        let mut gone = BTreeSet::new();
        loop {
            let Ok(Sent { screen, token, reply }) = self.sent.recv() else {
                return Form::Nobody.from(Origin::Input);
            };
            if reply.id.is_some_and(|id| self.taken.contains(&id)) {
                continue;
            }
            if token != *view.token {
                let problem = "this was sent for a question that is no longer asked";
                self.tell(screen, Notice::Refused { problem });
                continue;
            }
            if !request.takes(&reply.form) {
                let problem = request.why_not(&reply.form);
                self.tell(screen, Notice::Refused { problem: &problem });
                continue;
            }
            // Nobody is at this screen; somebody may be at another.
            if reply.form == Form::Nobody {
                gone.insert(screen);
                if gone.len() < self.screens.len() {
                    continue;
                }
            }
            self.taken.extend(reply.id);
            self.taken_from = Some(screen);
            for other in (0..self.screens.len()).filter(|other| *other != screen) {
                self.tell(other, Notice::Withdrawn { token: view.token });
            }
            return reply;
        }
    }

    fn notice(&mut self, notice: Notice<'_>) {
        match (notice, self.taken_from) {
            // Whoever sent it has to know; the others did not see it.
            (Notice::Refused { .. }, Some(screen)) => self.tell(screen, notice),
            _ => self.screens.iter_mut().for_each(|screen| screen.notice(notice)),
        }
    }
}
