//! Exit codes, documented in the README.

use std::process::ExitCode;

/// How the program ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Exit {
    /// Done; a run came to its conclusion.
    Done,
    /// Done, and something is bad: a row failed, or a record does not verify.
    Bad,
    /// The command line is wrong.
    Usage,
    /// A file given to the program is wrong.
    Input,
    /// The run waits or is paused; `resume` continues it.
    Waiting,
    /// The run ended without a cause.
    Unfinished,
    /// Another process has the record.
    Busy,
    /// Reading or writing failed.
    Files,
    /// The program itself is broken.
    Broken,
    /// Records are good, some of them by a list that they brought themselves.
    OwnList,
}

impl Exit {
    /// Every one with its code and what it means.
    pub const TABLE: &[(Self, u8, &str)] = &[
        (Self::Done, 0, "done; a run came to its conclusion"),
        (Self::Bad, 1, "done, and something is bad: a row failed, or a record does not verify"),
        (Self::Usage, 2, "the command line is wrong"),
        (Self::Input, 3, "a file given to the program is wrong: procedure, answers, table, circuit, record, shop.toml"),
        (Self::Waiting, 4, "the run waits or is paused; `ohmwright resume` continues it"),
        (Self::Unfinished, 5, "the run ended without a cause"),
        (Self::Busy, 6, "another process has the record"),
        (Self::Files, 7, "reading or writing a file failed"),
        (Self::Broken, 8, "the program itself is broken"),
        (Self::OwnList, 9, "a record is good by its own list of people, not this shop's; `--own-list` lets it pass"),
    ];

    /// The code.
    pub fn code(self) -> u8 {
        Self::TABLE.iter().find(|(exit, ..)| *exit == self).map_or(8, |(_, code, _)| *code)
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}
