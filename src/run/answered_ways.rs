//! A simulated vehicle, and questions that nothing on it answers, neither its meter nor a look of its circuit, answered one way
//! after the other.

use super::answerer::Answerer;
use super::bench::BenchAnswerer;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::limits::Limits;
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, Question};
use crate::model::proof::slip::Said;
use crate::model::quantity::Quantity;
use std::sync::{Arc, Mutex, PoisonError};

/// What was said on the way, each with its number among the ways and how many there are.
#[derive(Clone, Default, Debug)]
pub struct Ways(Arc<Mutex<Vec<Way>>>);

/// One answer among several.
#[derive(Clone, Debug)]
pub struct Way {
    /// Its number, from 0.
    pub number: usize,
    /// How many ways there are to answer.
    pub of: usize,
    /// The question and the answer.
    pub said: Said,
}

impl Ways {
    /// What was said.
    pub fn said(&self) -> Vec<Way> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The numbers of the next path, depth first; `None` after the last.
    pub fn next(&self) -> Option<Vec<usize>> {
        let mut ways = self.said();
        while let Some(last) = ways.pop() {
            if last.number + 1 < last.of {
                let mut path: Vec<usize> = ways.iter().map(|way| way.number).collect();
                path.push(last.number + 1);
                return Some(path);
            }
        }
        None
    }
}

/// A simulated vehicle with somebody who answers what it can't.
pub struct AnsweredWays {
    bench: BenchAnswerer,
    path: Vec<usize>,
    ways: Ways,
}

impl AnsweredWays {
    /// Answers the first questions by these numbers, and every later one in the first way.
    pub fn new(bench: BenchAnswerer, path: Vec<usize>) -> Self {
        Self { bench, path, ways: Ways::default() }
    }

    /// What is said, to be looked at afterwards.
    pub fn ways(&self) -> Ways {
        self.ways.clone()
    }

    fn say(&self, prompt: &Prompt) -> Option<Form> {
        if self.bench.can_answer(prompt) {
            return None;
        }
        let answers: Vec<String> = match &prompt.question {
            Question::YesNo | Question::Choice { .. } => prompt.question.answers(),
            // No words are more likely than others.
            Question::Note => vec!["noted".to_owned()],
            Question::Number { limits } => numbers(limits),
            _ => return None,
        };
        let mut ways = self.ways.0.lock().unwrap_or_else(PoisonError::into_inner);
        let number = self.path.get(ways.len()).copied().unwrap_or(0);
        let answer = answers.get(number)?.clone();
        let said = Said { prompt: prompt.id.to_string(), answer: answer.clone() };
        ways.push(Way { number, of: answers.len(), said });
        Some(Form::text(answer))
    }
}

/// A number within its limits first, then one beyond each limit.
fn numbers(limits: &Limits) -> Vec<String> {
    let ends = (limits.low().map(Quantity::si), limits.high().map(Quantity::si));
    let values = match ends {
        (Some(low), Some(high)) => {
            let width = (high - low).max(high.abs() * 0.1);
            vec![f64::midpoint(low, high), low - width, high + width]
        }
        (Some(low), None) => vec![low + low.abs().max(1e-3), low - low.abs().max(1e-3)],
        (None, Some(high)) => vec![high / 2.0, high + high.abs().max(1e-3)],
        (None, None) => vec![limits.expected().map_or(1.0, Quantity::si)],
    };
    values.into_iter().map(|value| Quantity::new(value, limits.unit.dimension()).to_string()).collect()
}

impl Answerer for AnsweredWays {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        if let Request::Answer { prompt } = request
            && let Some(form) = self.say(prompt)
        {
            return form.from(Origin::TYPED);
        }
        self.bench.ask(request, view)
    }

    fn notice(&mut self, notice: Notice<'_>) {
        self.bench.notice(notice);
    }
}
