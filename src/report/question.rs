//! A prompt's card as a terminal shows it: one block, each line with a word for what it says.

use super::prompt_card::{Enter, Kind, LeadCard, PromptCard};
use super::table::{harmless, wrapped};

/// How many columns the words at the left have.
const LABEL: usize = 9;
/// What stands between the parts of a line.
const GAP: &str = "   ";

/// The lines of a block besides its prompt.
#[derive(Clone, Debug, Default)]
pub struct Around {
    /// Where in the procedure it stands: `step 2 of up to 9`.
    pub at: String,
    /// The step's heading, where it is a new one.
    pub step: Option<String>,
    /// A simulated vehicle answers.
    pub simulated: bool,
    /// Pins, colors and limits are an example's.
    pub example: bool,
    /// How the vehicle stands, in parts.
    pub state: Vec<String>,
    /// The action that lasts as long as the reading, and its places.
    pub action: Option<(String, Vec<String>)>,
    /// The part moved meanwhile.
    pub moving: Option<String>,
}

/// One line of a block, or a few where it has to be broken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// The text.
    pub text: String,
    /// It is what is asked.
    pub bold: bool,
}

fn plain(text: String) -> Line {
    Line { text, bold: false }
}

/// Limits in words, with `to` between the two ends.
pub fn limits_in_words(limits: &str) -> String {
    limits.replace(" … ", " to ")
}

/// The line above a block.
pub fn rule(left: &str, right: &str, width: usize) -> String {
    let wide = textwrap::core::display_width;
    let mut line = String::from("── ");
    let room = width.saturating_sub(if right.is_empty() { 0 } else { wide(right) + 5 });
    for c in harmless(left).chars() {
        if wide(&line) + 2 >= room {
            break;
        }
        line.push(c);
    }
    line.push(' ');
    let end = if right.is_empty() { String::new() } else { format!(" {right} ──") };
    let fill = width.saturating_sub(wide(&line) + wide(&end));
    line.push_str(&"─".repeat(fill));
    line.push_str(&end);
    line
}

/// A line with its word at the left.
pub fn with_label(label: &str, text: &str, width: usize) -> String {
    let indent = " ".repeat(LABEL);
    wrapped(&harmless(text), width, &label_column(label), &indent)
}

/// A label with the space after it; a long one has two spaces before its text.
fn label_column(label: &str) -> String {
    if textwrap::core::display_width(label) < LABEL { format!("{label:<LABEL$}") } else { format!("{label}  ") }
}

/// Parts one after the other; each stays in one piece where the width allows.
pub fn flow(label: &str, parts: &[String], width: usize) -> String {
    let wide = textwrap::core::display_width;
    let mut lines = vec![label_column(label)];
    let mut is_empty = true;
    for part in parts.iter().map(|part| harmless(part)) {
        let last = lines.last().map_or(0, |line| wide(line));
        let gap = if is_empty { 0 } else { GAP.len() };
        if !is_empty && last + gap + wide(&part) > width {
            lines.push(format!("{:LABEL$}{part}", ""));
        } else if let Some(line) = lines.last_mut() {
            line.push_str(&GAP[..gap]);
            line.push_str(&part);
        }
        is_empty = false;
    }
    let indent = " ".repeat(LABEL);
    let fitted: Vec<String> = lines.iter().map(|line| wrapped(line.trim_end(), width, "", &indent)).collect();
    fitted.join("\n")
}

/// Where a lead goes: pin, wire and place, or its name where it has no pin.
fn lead_in_words(lead: &LeadCard) -> String {
    let mut parts = vec![lead.pin.clone().unwrap_or_else(|| lead.to.clone())];
    parts.extend(lead.wire.clone());
    parts.extend(lead.place.clone());
    parts.join("; ")
}

fn label_of(lead: &str) -> &'static str {
    match lead {
        "red" => "RED",
        "black" => "BLACK",
        "in line" => "IN LINE",
        _ => "CLAMP",
    }
}

/// The block, without the line of keys and the prompt.
pub fn block(card: &PromptCard, around: &Around, width: usize) -> Vec<Line> {
    let mut lines = begin(around, card.id.as_str(), width);
    lines.push(Line { text: with_label("READ", &card.heading, width), bold: true });
    if let Some(moving) = &around.moving {
        lines.push(plain(with_label("MOVE", moving, width)));
    }
    if !around.state.is_empty() && card.kind != Kind::Note {
        lines.push(plain(flow("STATE", &around.state, width)));
    }
    for lead in &card.leads {
        let around = if lead.lead == "clamp round" { "round " } else { "" };
        let words = format!("{around}{}", lead_in_words(lead));
        lines.push(plain(with_label(label_of(lead.lead), &words, width)));
    }
    lines.extend(meter_and_limits(card, around, width).map(plain));
    // The leads go on first.
    if let Some((action, places)) = &around.action {
        lines.push(Line { text: with_label("DO", action, width), bold: true });
        lines.extend(places.iter().map(|place| plain(with_label("", place, width))));
    }
    let options = card.options.iter().enumerate();
    lines.extend(options.map(|(index, option)| plain(with_label(&format!("      {}", index + 1), option, width))));
    lines
}

/// The line above, with the step's heading where it is new, on a line of its own where it does not fit.
pub fn begin(around: &Around, id: &str, width: usize) -> Vec<Line> {
    let wide = textwrap::core::display_width;
    let join = |parts: &[&str]| parts.iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join("  ");
    let right = if around.simulated { "SIMULATED" } else { "" };
    let step = around.step.as_deref().map(harmless);
    let whole = join(&[&around.at, step.as_deref().unwrap_or_default(), id]);
    // What the line needs besides: its ends, and the word at the right.
    if wide(&whole) + 8 + if right.is_empty() { 0 } else { wide(right) + 5 } <= width {
        return vec![plain(rule(&whole, right, width))];
    }
    let mut lines = vec![plain(rule(&join(&[&around.at, id]), right, width))];
    lines.extend(step.map(|step| plain(with_label("STEP", &step, width))));
    lines
}

/// The meter's setting and the limits, on one line where they fit.
fn meter_and_limits(card: &PromptCard, around: &Around, width: usize) -> impl Iterator<Item = String> {
    let limits = card.limits.as_ref().map(|limits| {
        let example = if around.example && card.is_judged { "  (example)" } else { "" };
        format!("{}{example}", limits_in_words(limits))
    });
    let lines = match (card.meter, limits) {
        (Some(meter), Some(limits)) => {
            let both = format!("{meter:<14} LIMITS   {}", harmless(&limits));
            if LABEL + textwrap::core::display_width(&both) <= width {
                vec![format!("{:<LABEL$}{both}", "METER")]
            } else {
                vec![with_label("METER", meter, width), with_label("LIMITS", &limits, width)]
            }
        }
        (Some(meter), None) => vec![with_label("METER", meter, width)],
        (None, Some(limits)) => vec![with_label("LIMITS", &limits, width)],
        (None, None) => vec![],
    };
    lines.into_iter()
}

/// What can be typed here, in a line.
pub fn keys(card: &PromptCard) -> Vec<String> {
    let first = match (card.enter, card.kind) {
        (Enter::ReadsModule, _) => "Enter: read the module".to_owned(),
        (Enter::PutsLeads, _) => "Enter: connect the leads and read".to_owned(),
        (Enter::Moves, _) => "Enter: connect, move and read".to_owned(),
        (Enter::Looks, _) => "Enter: look".to_owned(),
        (_, Kind::Reading) => "Number, or * for OL".to_owned(),
        (_, Kind::LowestHighest) => "Lowest, a space, highest".to_owned(),
        (_, Kind::Sweep) => "A reading a line, or many with spaces; Enter ends".to_owned(),
        (_, Kind::ModuleValue | Kind::Number) => "Number".to_owned(),
        (_, Kind::YesNo) => "1 yes, 2 no".to_owned(),
        (_, Kind::Choice) => format!("A number from 1 to {}", card.options.len()),
        (_, Kind::Note) => "Your words".to_owned(),
    };
    vec![first, "-- undo".to_owned(), "// skip".to_owned(), ".. more".to_owned()]
}

/// What stands before the cursor.
pub fn cursor(card: &PromptCard) -> String {
    match (card.kind, &card.unit) {
        (_, Some(unit)) => format!("{unit} > "),
        (Kind::YesNo, _) => "1 yes, 2 no > ".to_owned(),
        (Kind::Choice, _) => "number > ".to_owned(),
        _ => "> ".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::limits::Limits;
    use crate::model::meter::Function;
    use crate::model::prompt::{LeadEnd, Leads, Prompt, PromptId, Question};
    use crate::model::quantity::Quantity;
    use crate::report::prompt_card::At;

    fn card() -> PromptCard {
        let mut limits = Limits::between(Quantity::volts(-0.2), Quantity::volts(0.2)).unwrap();
        limits.unit = limits.unit.without_prefix();
        let red = LeadEnd {
            name: "ground_1".into(),
            point: Some("C7.2, harness side".into()),
            wire: Some("brown 2.5 mm2".into()),
            place: Some("at the engine control module, left of the engine".into()),
        };
        let black = LeadEnd {
            name: "battery_negative".into(),
            place: Some("battery box, negative post".into()),
            ..LeadEnd::default()
        };
        let question = Question::Reading { function: Function::Volts, limits, leads: Leads::Across { red, black } };
        let text = "First ground of the control module, under load".to_owned();
        PromptCard::of(&Prompt { id: PromptId::new("ground_1"), text, question }, At::Vehicle)
    }

    fn drawn(width: usize) -> Vec<String> {
        let around = Around {
            at: "step 4 of up to 9".into(),
            step: Some("Grounds first, connector mated, key on".into()),
            simulated: true,
            example: true,
            state: vec!["key ON".into(), "C7 mated".into(), "work lamp ON".into()],
            action: None,
            moving: None,
        };
        let mut lines: Vec<String> = block(&card(), &around, width)
            .iter()
            .flat_map(|line| line.text.lines().map(str::to_owned).collect::<Vec<_>>())
            .collect();
        lines.extend(flow("", &keys(&card()), width).lines().map(str::to_owned));
        lines.push(cursor(&card()));
        lines
    }

    #[test]
    fn a_block_has_twelve_lines_at_most_at_eighty_columns_and_sixteen_at_fifty() {
        let wide = drawn(80);
        assert_eq!(
            wide[..6],
            [
                "── step 4 of up to 9  ground_1 ──────────────────────────────────── SIMULATED ──",
                "STEP     Grounds first, connector mated, key on",
                "READ     First ground of the control module, under load",
                "STATE    key ON   C7 mated   work lamp ON",
                "RED      C7.2, harness side; brown 2.5 mm2; at the engine control module, left",
                "         of the engine",
            ]
        );
        assert_eq!(wide[7], "METER    DC volts       LIMITS   -0.2 to 0.2 V  (example)");
        for (width, most) in [(80, 12), (50, 16)] {
            let lines = drawn(width);
            assert!(lines.len() <= most, "{}: {lines:#?}", lines.len());
            let wide = |line: &&String| textwrap::core::display_width(line) > width;
            assert_eq!(lines.iter().find(wide), None);
        }
    }
}
