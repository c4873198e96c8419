//! The next best reading: its minutes and the expected minutes of finishing. Pure over a table of what each reading would show.

use std::collections::HashMap;

/// Groups and readings up to which every order is tried.
const MOST_GROUPS: usize = 8;
const MOST_READINGS: usize = 10;
/// Readings that are completed, the most promising first, where there are more.
const MOST_COMPLETED: usize = 24;
/// Minutes that a reading takes at least.
const LEAST_MINUTES: f64 = 1e-9;

/// A reading that could be taken, and what it would show.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// For each rival, the number of what it would show. Rivals with the same number are not told apart by it.
    pub outcomes: Vec<u16>,
    /// Minutes for getting there and reading.
    pub minutes: f64,
    /// The state of the vehicle in which it is taken.
    pub state: usize,
}

/// The rivals that are left, and the readings that could be taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// The weight of each rival.
    pub weights: Vec<f64>,
    /// The correction of each rival, by number: those with the same one need not be told apart.
    pub corrections: Vec<usize>,
    /// The readings.
    pub tests: Vec<Test>,
    /// Minutes from one state of the vehicle to another.
    pub changes: Vec<Vec<f64>>,
    /// The state in which the vehicle stands.
    pub stands: usize,
}

/// A reading that is proposed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    /// The reading, by its place.
    pub test: usize,
    /// Its minutes, with what has to be changed at the vehicle first.
    pub minutes: f64,
    /// Expected minutes until nothing more can be told apart, its own among them.
    pub expected: f64,
}

/// How an order of readings is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Always the reading that tells most for its minutes.
    Greedy,
    /// Always the reading with the least minutes if everything after it is done greedily.
    FinishingGreedily,
    /// The best order there is.
    Exact,
}

/// The next best reading; `None` where what is left can't be told apart, or need not be.
pub fn next(outlook: &Outlook) -> Option<Next> {
    let search = Search::of(outlook);
    let all: Vec<usize> = (0..search.weights.len()).collect();
    if search.is_small() {
        return search.exactly(&all, outlook.stands, &mut HashMap::new()).1;
    }
    search.finishing_greedily(&all, outlook.stands)
}

/// Expected minutes of an order until nothing more can be told apart.
pub fn expected(outlook: &Outlook, way: Way) -> f64 {
    let search = Search::of(outlook);
    let all: Vec<usize> = (0..search.weights.len()).collect();
    match way {
        Way::Greedy => search.by(&all, outlook.stands, &|set, state| search.most_telling(set, state)),
        Way::FinishingGreedily => {
            search.by(&all, outlook.stands, &|set, state| Some(search.finishing_greedily(set, state)?.test))
        }
        Way::Exact => search.exactly(&all, outlook.stands, &mut HashMap::new()).0,
    }
}

/// Groups of rivals that no reading tells apart, as they are searched over.
struct Search<'a> {
    outlook: &'a Outlook,
    /// A rival of each group, which stands for it.
    first: Vec<usize>,
    weights: Vec<f64>,
    corrections: Vec<usize>,
    /// The readings that tell any groups apart, by their places; of those that tell the same apart in one state the quickest.
    tests: Vec<usize>,
}

/// Expected minutes by the groups that are left and the vehicle's state.
type Known = HashMap<(Vec<usize>, usize), (f64, Option<Next>)>;

impl<'a> Search<'a> {
    fn of(outlook: &'a Outlook) -> Self {
        let signature = |rival: usize| outlook.tests.iter().map(|test| test.outcomes[rival]).collect::<Vec<_>>();
        let mut groups: HashMap<Vec<u16>, usize> = HashMap::new();
        let (mut first, mut weights, mut corrections) = (Vec::new(), Vec::new(), Vec::new());
        for (rival, weight) in outlook.weights.iter().enumerate() {
            let group = *groups.entry(signature(rival)).or_insert_with(|| {
                first.push(rival);
                weights.push(0.0);
                corrections.push(outlook.corrections[rival]);
                first.len() - 1
            });
            weights[group] += weight;
            if corrections[group] != outlook.corrections[rival] {
                // It has several, and needs to be told apart from all the others.
                corrections[group] = outlook.corrections.iter().max().map_or(0, |most| most + 1) + group;
            }
        }
        let mut quickest: HashMap<(Vec<u16>, usize), usize> = HashMap::new();
        let mut order = Vec::new();
        for (number, test) in outlook.tests.iter().enumerate() {
            let shows = renumbered(first.iter().map(|rival| test.outcomes[*rival]));
            if shows.iter().all(|one| *one == 0) {
                continue;
            }
            let key = (shows, test.state);
            match quickest.get_mut(&key) {
                Some(known) if outlook.tests[*known].minutes <= test.minutes => {}
                Some(known) => *known = number,
                None => {
                    quickest.insert(key.clone(), number);
                    order.push(key);
                }
            }
        }
        let tests = order.iter().map(|key| quickest[key]).collect();
        Self { outlook, first, weights, corrections, tests }
    }

    fn is_small(&self) -> bool {
        self.weights.len() <= MOST_GROUPS && self.tests.len() <= MOST_READINGS
    }

    fn weight(&self, set: &[usize]) -> f64 {
        set.iter().map(|group| self.weights[*group]).sum()
    }

    fn is_done(&self, set: &[usize]) -> bool {
        set.windows(2).all(|pair| self.corrections[pair[0]] == self.corrections[pair[1]])
    }

    fn minutes(&self, test: usize, state: usize) -> f64 {
        let test = &self.outlook.tests[test];
        (test.minutes + self.outlook.changes[state][test.state]).max(LEAST_MINUTES)
    }

    /// The groups by what a reading shows; one part only, if it tells nothing apart.
    fn parts(&self, test: usize, set: &[usize]) -> Vec<Vec<usize>> {
        let mut parts: Vec<(u16, Vec<usize>)> = Vec::new();
        for &group in set {
            let shows = self.outlook.tests[test].outcomes[self.first[group]];
            match parts.iter_mut().find(|(known, _)| *known == shows) {
                Some((_, part)) => part.push(group),
                None => parts.push((shows, vec![group])),
            }
        }
        parts.into_iter().map(|(_, part)| part).collect()
    }

    /// Bits that a reading is expected to give, for each of its minutes.
    fn gain(&self, test: usize, set: &[usize], state: usize) -> f64 {
        let all = self.weight(set);
        let parts = self.parts(test, set);
        if parts.len() < 2 || all <= 0.0 {
            return 0.0;
        }
        let share = |part: &Vec<usize>| self.weight(part) / all;
        let bits = |share: f64| if share > 0.0 { -share * share.log2() } else { 0.0 };
        parts.iter().map(share).map(bits).sum::<f64>() / self.minutes(test, state)
    }

    fn splits(&self, test: usize, set: &[usize]) -> bool {
        let shows = |group: usize| self.outlook.tests[test].outcomes[self.first[group]];
        set.windows(2).any(|pair| shows(pair[0]) != shows(pair[1]))
    }

    fn most_telling(&self, set: &[usize], state: usize) -> Option<usize> {
        let telling = self.tests.iter().copied().filter(|test| self.splits(*test, set));
        // Of equals the first.
        telling
            .map(|test| (self.gain(test, set, state), test))
            .reduce(|best, other| if other.0 > best.0 { other } else { best })
            .map(|best| best.1)
    }

    /// Expected minutes if each reading is chosen so.
    fn by(&self, set: &[usize], state: usize, choose: &dyn Fn(&[usize], usize) -> Option<usize>) -> f64 {
        if self.is_done(set) {
            return 0.0;
        }
        let Some(test) = choose(set, state) else { return 0.0 };
        self.after(test, set, state, |part, state| self.by(part, state, choose))
    }

    /// A reading's minutes and those expected after it.
    fn after(&self, test: usize, set: &[usize], state: usize, mut then: impl FnMut(&[usize], usize) -> f64) -> f64 {
        let (all, there) = (self.weight(set), self.outlook.tests[test].state);
        let rest = self.parts(test, set).into_iter().map(|part| {
            let share = if all > 0.0 { self.weight(&part) / all } else { 0.0 };
            share * then(&part, there)
        });
        self.minutes(test, state) + rest.sum::<f64>()
    }

    fn finishing_greedily(&self, set: &[usize], state: usize) -> Option<Next> {
        if self.is_done(set) {
            return None;
        }
        let mut telling: Vec<(f64, usize)> = self
            .tests
            .iter()
            .filter(|test| self.splits(**test, set))
            .map(|test| (self.gain(*test, set, state), *test))
            .collect();
        if telling.len() > MOST_COMPLETED {
            telling.sort_by(|a, b| b.0.total_cmp(&a.0));
            telling.truncate(MOST_COMPLETED);
        }
        let greedily = |set: &[usize], state: usize| self.most_telling(set, state);
        let all = telling.into_iter().map(|(_, test)| {
            let expected = self.after(test, set, state, |part, state| self.by(part, state, &greedily));
            Next { test, minutes: self.minutes(test, state), expected }
        });
        all.reduce(|best, other| if other.expected < best.expected - 1e-12 { other } else { best })
    }

    fn exactly(&self, set: &[usize], state: usize, known: &mut Known) -> (f64, Option<Next>) {
        if self.is_done(set) {
            return (0.0, None);
        }
        let key = (set.to_vec(), state);
        if let Some(found) = known.get(&key) {
            return *found;
        }
        let mut best: Option<Next> = None;
        for &test in &self.tests {
            if !self.splits(test, set) {
                continue;
            }
            let expected = self.after(test, set, state, |part, state| self.exactly(part, state, known).0);
            if best.is_none_or(|best| expected < best.expected - 1e-12) {
                best = Some(Next { test, minutes: self.minutes(test, state), expected });
            }
        }
        let found = (best.map_or(0.0, |best| best.expected), best);
        known.insert(key, found);
        found
    }
}

/// The same partition with its numbers in the order in which they come.
fn renumbered(shows: impl Iterator<Item = u16>) -> Vec<u16> {
    let mut seen: Vec<u16> = Vec::new();
    let number = |one: u16| match seen.iter().position(|known| *known == one) {
        Some(number) => number as u16,
        None => {
            seen.push(one);
            seen.len() as u16 - 1
        }
    };
    shows.map(number).collect()
}
