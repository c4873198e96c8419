//! A prompt's card as a terminal shows it: where the leads go, what the meter is switched to, what it should show.

use super::prompt_card::{Enter, Kind, LeadCard, PromptCard};
use super::table::{fits, harmless, table, wrapped};

/// What is asked, in the procedure's words.
pub fn heading(card: &PromptCard, width: usize) -> String {
    wrapped(&harmless(&card.heading), width, "", "  ")
}

/// What stands below it: leads, limits, choices.
pub fn details(card: &PromptCard, width: usize) -> Vec<String> {
    let indented = |text: &str| wrapped(&harmless(text), width, "  ", "  ");
    let mut lines = Vec::new();
    lines.extend(card.meter.map(|meter| indented(&format!("meter on {meter}"))));
    if !card.leads.is_empty() {
        lines.extend(leads_lines(&card.leads, width));
    }
    if let Some(limits) = &card.limits {
        let source = card.source.as_ref().map(|source| format!("  [{source}]")).unwrap_or_default();
        lines.push(indented(&format!("{limits}{source}")));
    }
    let options = card.options.iter().enumerate();
    lines.extend(options.map(|(index, option)| indented(&format!("{}  {option}", index + 1))));
    lines
}

/// In how many lines a lead's row in the table may be at most, on average.
const LINES_OF_A_ROW: usize = 3;

/// Where the leads go: a table; where that would break words, a line for each.
fn leads_lines(leads: &[LeadCard], width: usize) -> Vec<String> {
    let all = ["lead", "to", "pin", "wire", "where"];
    let cells: Vec<[String; 5]> = leads
        .iter()
        .map(|LeadCard { lead, to, pin, wire, place }| {
            [Some(*lead), Some(to.as_str()), pin.as_deref(), wire.as_deref(), place.as_deref()]
                .map(|text| harmless(text.unwrap_or("")))
        })
        .collect();
    // A column in which nothing stands only makes the others narrow.
    let columns: Vec<usize> =
        (0..all.len()).filter(|column| cells.iter().any(|row| !row[*column].is_empty())).collect();
    let heading: Vec<&str> = columns.iter().map(|column| all[*column]).collect();
    let rows: Vec<Vec<String>> =
        cells.iter().map(|row| columns.iter().map(|column| row[*column].clone()).collect()).collect();
    if fits(width, &heading, &rows) {
        let drawn = table(width, &heading, &rows, &[]);
        // Squeezed until a cell runs down the screen, a sentence is read more easily.
        if drawn.lines().count() <= 4 + LINES_OF_A_ROW * rows.len() {
            return vec![drawn];
        }
    }
    leads.iter().map(|lead| wrapped(&harmless(&lead.in_words()), width, "  ", "    ")).collect()
}

/// What stands before the cursor: the unit, or what can be typed. At a simulated vehicle, what Enter does.
pub fn cursor(card: &PromptCard) -> String {
    match (card.enter, card.kind, &card.unit) {
        (Enter::ReadsModule, ..) => "  Enter reads the module > ".to_owned(),
        (Enter::PutsLeads | Enter::Moves, ..) => "  Enter puts the leads there > ".to_owned(),
        (_, _, Some(unit)) => format!("{unit} > "),
        (_, Kind::YesNo, _) => "1 yes, 2 no > ".to_owned(),
        (_, Kind::Choice, _) => "number > ".to_owned(),
        _ => "> ".to_owned(),
    }
}
