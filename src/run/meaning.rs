//! What a text that was typed means to its question, and what an answer comes to.

use super::answerer::MeterInUse;
use super::reply::Form;
use crate::model::limits::{Limits, NoAccuracy, Verdict};
use crate::model::meter::Function;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::record::given::SweepReading;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use smallvec::SmallVec;
use std::sync::Arc;

/// How many readings a sweep has at least.
pub const LEAST_OF_A_SWEEP: usize = 2;

/// An answer with its meaning.
#[derive(Clone, PartialEq, Debug)]
pub struct Asked {
    /// The question.
    pub prompt: Arc<Prompt>,
    /// As recorded.
    pub answer: Answer,
    /// What was shown: one value of a reading, two of lowest and highest, all of a sweep.
    pub shown: SmallVec<[Shown; 2]>,
    /// The readings of a sweep, as typed.
    pub sweep: Vec<SweepReading>,
    /// The verdict, where there are limits.
    pub verdict: Option<Verdict>,
}

/// Understands text typed at a prompt.
pub fn take(prompt: &Arc<Prompt>, text: Arc<str>, meter: &MeterInUse) -> Result<Asked, String> {
    let answer = match &prompt.question {
        Question::Reading { .. } | Question::ModuleValue { .. } | Question::Number { .. } => {
            let typed = if text.trim().len() == text.len() { text } else { text.trim().into() };
            Answer::Reading { typed }
        }
        Question::LowestHighest { limits, .. } => {
            let (lowest, highest) = two_values(&text, limits.unit)?;
            Answer::LowestHighest { lowest, highest }
        }
        Question::YesNo => match yes_or_no(&text) {
            Some(yes) => Answer::YesNo { yes },
            None => return Err(format!("`{}` is neither yes nor no: type 1 for yes or 2 for no", text.trim())),
        },
        Question::Choice { options } => match chosen(&text, options) {
            Some(option) => Answer::Choice { option },
            None => {
                return Err(format!(
                    "`{}` is none of the choices: type a number from 1 to {}, or its words",
                    text.trim(),
                    options.len()
                ));
            }
        },
        Question::Note => match text.trim() {
            "" => return Err("type a few words, or `skip` and why".to_owned()),
            words => Answer::Note { words: words.to_owned() },
        },
        Question::Sweep { .. } => return Err("a sweep is taken reading by reading".to_owned()),
    };
    meaning(prompt, answer, meter)
}

/// An answer as it would be typed; the readings of a sweep come before, and nothing ends it.
pub fn as_typed(answer: &Answer) -> Form {
    match answer {
        Answer::Reading { typed } => Form::Text(Arc::clone(typed)),
        Answer::LowestHighest { lowest, highest } => Form::text(format!("{lowest} {highest}")),
        Answer::YesNo { yes } => Form::text(if *yes { "yes" } else { "no" }.to_owned()),
        Answer::Choice { option } => Form::text(option.clone()),
        Answer::Note { words } => Form::text(words.clone()),
        Answer::Skipped { reason } => Form::Skip { reason: reason.clone() },
        Answer::Sweep { .. } => Form::enter(),
    }
}

/// What an answer means to this question, with its verdict.
pub fn meaning(prompt: &Arc<Prompt>, answer: Answer, meter: &MeterInUse) -> Result<Asked, String> {
    let mut asked = Asked { prompt: Arc::clone(prompt), answer, shown: SmallVec::new(), sweep: vec![], verdict: None };
    let read = |text: &str, limits: &Limits| typed::read(text, limits.unit).map_err(|error| error.to_string());
    let read_one =
        |text: &str, limits: &Limits| typed::read_reading(text, limits.unit).map_err(|error| error.to_string());
    let accuracy = |function: Function, shown: Shown| match shown {
        Shown::Value(value) => meter.accuracy(function, value),
        Shown::OverRange | Shown::Unsteady { .. } => Err(NoAccuracy::NoRange),
    };
    let outcome = match (&prompt.question, &asked.answer) {
        (Question::Reading { limits, function, .. }, Answer::Reading { typed }) => {
            read_one(typed, limits).map(|shown| {
                asked.verdict = limits.judge_on(*function, shown, accuracy(*function, shown));
                asked.shown.push(shown);
            })
        }
        (Question::ModuleValue { limits, .. } | Question::Number { limits }, Answer::Reading { typed }) => {
            read_one(typed, limits).map(|shown| {
                asked.verdict = limits.judge(shown, Err(NoAccuracy::NotAMeter));
                asked.shown.push(shown);
            })
        }
        (Question::LowestHighest { limits, function, .. }, Answer::LowestHighest { lowest, highest }) => {
            read(lowest, limits).and_then(|low| read(highest, limits).map(|high| (low, high))).map(|(low, high)| {
                asked.shown.extend([low, high]);
                let judged = [low, high].map(|shown| limits.judge_on(*function, shown, accuracy(*function, shown)));
                // The worse of the two stands for both.
                asked.verdict = judged.into_iter().flatten().max_by_key(Verdict::badness);
            })
        }
        (Question::YesNo, Answer::YesNo { .. })
        | (Question::Note, Answer::Note { .. })
        | (Question::Sweep { .. }, Answer::Sweep { .. })
        | (_, Answer::Skipped { .. }) => Ok(()),
        (Question::Choice { options }, Answer::Choice { option }) => {
            if options.contains(option) {
                Ok(())
            } else {
                Err(format!("`{option}` is none of the choices"))
            }
        }
        _ => Err("an answer of another kind than the question".to_owned()),
    };
    outcome.map(|()| asked)
}

fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "1" | "y" | "yes" | "true" => Some(true),
        "2" | "n" | "no" | "false" => Some(false),
        _ => None,
    }
}

/// The option by its words, else by its number from 1.
fn chosen(text: &str, options: &[String]) -> Option<String> {
    let text = text.trim();
    options
        .iter()
        .find(|option| option.as_str() == text)
        .or_else(|| options.iter().find(|option| option.eq_ignore_ascii_case(text)))
        .or_else(|| text.parse::<usize>().ok().and_then(|number| options.get(number.checked_sub(1)?)))
        .or_else(|| by_its_number(text, options))
        .cloned()
}

/// The one choice that begins with this number: `24` is the choice `24 V`. Only where no number that a choice begins with is the
/// number of a choice, so that none means two things.
fn by_its_number<'a>(text: &str, options: &'a [String]) -> Option<&'a String> {
    let number = |option: &String| option.split(' ').next()?.parse::<usize>().ok();
    if options.iter().filter_map(number).any(|number| number <= options.len()) {
        return None;
    }
    let typed = text.parse::<usize>().ok()?;
    let mut found = options.iter().filter(|option| number(option) == Some(typed));
    found.next().filter(|_| found.next().is_none())
}

/// Words of a line that stand for one value each: a unit goes with the number before it.
pub fn values(text: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for word in text.split([' ', '\t', ';']).filter(|word| !word.is_empty()) {
        let begins = word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | '−' | '*' | ','))
            || word.to_uppercase().starts_with("OL");
        match values.last_mut() {
            Some(last) if !begins => {
                last.push(' ');
                last.push_str(word);
            }
            _ => values.push(word.to_owned()),
        }
    }
    values
}

fn two_values(text: &str, unit: Unit) -> Result<(String, String), String> {
    let values = values(text);
    let [lowest, highest] = values.as_slice() else {
        return Err("type the lowest and the highest, with a space between: 4.91 5.02".to_owned());
    };
    let read = |text: &str| typed::read(text, unit).map_err(|error| error.to_string());
    if let (Shown::Value(low), Shown::Value(high)) = (read(lowest)?, read(highest)?)
        && low.si() > high.si()
    {
        return Err(format!("the lowest, {low}, is above the highest, {high}: type the lowest first"));
    }
    Ok((lowest.clone(), highest.clone()))
}

/// The readings of one typed or pasted line, each with what it shows: `0.52`, `0.52 @ 10 %`, `0.52 0.9 1.3`.
pub fn sweep_texts(text: &str, unit: Unit) -> Result<Vec<(SweepReading, Shown)>, String> {
    let (readings, position) = match text.split_once('@') {
        Some((reading, position)) => (reading, Some(position.trim().to_owned()).filter(|text| !text.is_empty())),
        None => (text, None),
    };
    let texts = values(readings);
    if position.is_some() && texts.len() != 1 {
        return Err("a position goes with one reading: `0.52 @ half open`".to_owned());
    }
    let mut list = Vec::with_capacity(texts.len());
    for text in texts {
        // A pasted list may have commas between its readings.
        let plain = text.strip_suffix(',').unwrap_or(&text).to_owned();
        let shown = typed::read(&plain, unit).map_err(|error| error.to_string())?;
        list.push((SweepReading { text: plain, position: position.clone() }, shown));
    }
    if list.is_empty() {
        Err("there is no reading before the `@`: write `0.52 @ half open`".to_owned())
    } else {
        Ok(list)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pasted_list_is_read_value_by_value() {
        let volts: Unit = "V".parse().unwrap();
        let texts = |text: &str| {
            sweep_texts(text, volts).map(|list| list.into_iter().map(|(reading, _)| reading.text).collect::<Vec<_>>())
        };
        assert_eq!(texts("0.5 0.9;1.3"), Ok(vec!["0.5".into(), "0.9".into(), "1.3".into()]));
        assert_eq!(texts("0.5 V 900 mV"), Ok(vec!["0.5 V".into(), "900 mV".into()]));
        assert_eq!(texts("0.52, 0.9, 1.3"), Ok(vec!["0.52".into(), "0.9".into(), "1.3".into()]));
        assert!(texts("0.5 abc").is_err());
        let with = sweep_texts("0.52 @ half open", volts).unwrap();
        assert_eq!(with[0].0.position.as_deref(), Some("half open"));
    }

    #[test]
    fn the_worse_of_lowest_and_highest_stands_for_both() {
        use crate::model::limits::{LimitResult, Sureness};
        use crate::model::meter::{Meter, Range};
        use crate::model::prompt::{Leads, PromptId};
        use crate::model::quantity::Quantity;
        let volts = Quantity::volts;
        // ±(0.5 % + 2 counts of 1 mV): 25.8 mV at 4.751 V.
        let (function, full_scale, resolution) = (Function::Volts, volts(6.0), volts(0.001));
        let ranges = vec![Range {
            function,
            full_scale,
            resolution,
            percent: 0.5,
            counts: 2.0,
            lowest_hertz: None,
            highest_hertz: None,
        }];
        let input_resistance = Quantity::ohms(10e6);
        let meter = Meter { id: "m".into(), name: "m".into(), calibration_due: None, input_resistance, ranges };
        let meter = MeterInUse::new(meter);
        let limits = Limits::between(volts(4.75), volts(5.25)).unwrap();
        let question =
            Question::LowestHighest { function, limits, leads: Leads::Nowhere, meanwhile: "moving".to_owned() };
        let prompt = Arc::new(Prompt { id: PromptId::new("x"), text: "x".to_owned(), question });
        let verdict = |text: &str| take(&prompt, text.into(), &meter).unwrap().verdict.unwrap();
        assert_eq!(verdict("4.9 5.0").sureness, Sureness::Sure);
        let unsure = verdict("4.751 5.0");
        assert!(unsure.standing == LimitResult::In && matches!(unsure.sureness, Sureness::Unsure { .. }), "{unsure:?}");
        let low = verdict("4.5 5.249");
        assert_eq!((low.standing, low.sureness), (LimitResult::Low, Sureness::Sure));
    }

    #[test]
    fn a_choice_by_words_comes_before_its_number() {
        let options: Vec<String> = ["2", "1", "back"].map(Into::into).to_vec();
        assert_eq!(chosen("2", &options).as_deref(), Some("2"));
        assert_eq!(chosen("BACK", &options).as_deref(), Some("back"));
        assert_eq!(chosen("3", &options).as_deref(), Some("back"));
        assert_eq!(chosen("4", &options), None);
        assert_eq!(chosen("0", &options), None);
    }

    #[test]
    fn a_choice_is_its_number_or_its_words_and_the_number_that_it_begins_with_where_that_means_nothing_else() {
        let chosen = |text: &str, options: &[&str]| {
            let options: Vec<String> = options.iter().map(|&option| option.to_owned()).collect();
            chosen(text, &options)
        };
        let volts = ["12 V", "24 V"];
        assert_eq!(chosen("24", &volts).as_deref(), Some("24 V"));
        assert_eq!(chosen("1", &volts).as_deref(), Some("12 V"));
        assert_eq!(chosen("0", &volts), None);
        let wires = ["2 wires", "3 wires"];
        assert_eq!((chosen("2", &wires).as_deref(), chosen("3", &wires)), (Some("3 wires"), None));
        assert_eq!(chosen("0", &["0 V", "5 V"]), None);
    }
}
