//! Names of places that stand literally in a procedure, held against its circuit, and leads against what is read with them:
//! found before a record is begun, since the last of them is come to when most of the work is done.

use super::bindings::actions::{holds_nothing_back, shorts_the_supply};
use super::walk::{Found, call_of, hint, visit};
use crate::model::dimension::Dimension;
use crate::model::meter::Function;
use crate::model::misfit::Misfit;
use crate::model::points::{Points, UnknownName};
use crate::model::prompt::Leads;
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use rhai::{AST, Expr, FnCallExpr, Position};

/// Names that the circuit does not have, positions that a thing can't take, and wires across the supply.
pub(super) fn names(ast: &AST, points: Option<&Points>, found: &mut Vec<Found>) {
    visit(ast, &mut |node| {
        let Some((call, _, 0)) = call_of(node) else { return };
        if !call.namespace.is_empty() {
            return;
        }
        for (place, kind) in places_of(call) {
            if let Some((name, position)) = text_of(call.args.get(place))
                && let Err(unknown) = kind.known(points, name)
            {
                found.push(of_name(position, &unknown));
            }
        }
        match call.name.as_str() {
            "hold" => found.extend(position_of(call, points)),
            "connect" => found.extend(short_of(call, points)),
            _ => {}
        }
    });
}

/// Leads that don't belong to the limits beside them.
pub(super) fn leads(ast: &AST, points: Option<&Points>, found: &mut Vec<Found>) {
    visit(ast, &mut |node| {
        let Some((call, _, 0)) = call_of(node) else { return };
        let function = match (call.namespace.is_empty(), call.name.as_str()) {
            (true, "read_diode") => Some(Function::Diode),
            (true, "read_ac") => Some(Function::AcVolts),
            (true, "read" | "sweep" | "lowest_highest") => {
                call.args.get(2).and_then(dimension_of).and_then(function_of)
            }
            _ => None,
        };
        let (Some(function), Some(Expr::FnCall(laid, position))) = (function, call.args.get(3)) else { return };
        if let Some(leads) = leads_of(laid)
            && let Some(misfit) = Misfit::of(points, function, &leads)
        {
            found.push((*position, misfit.to_string(), Some(misfit.hint().to_owned())));
        }
    });
}

/// What a name is the name of.
#[derive(Clone, Copy)]
enum Kind {
    End,
    InLine,
    Connector,
    Part,
    Movable,
    Signal,
}

impl Kind {
    fn known(self, points: Option<&Points>, name: &str) -> Result<(), UnknownName> {
        match self {
            Self::End => Points::end(points, name).map(|_| ()),
            Self::InLine => Points::in_line(points, name).map(|_| ()),
            Self::Connector => Points::known(points.map(|points| &points.connectors), "connector", name),
            Self::Part => Points::known(points.map(|points| &points.parts), "fuse or relay", name),
            Self::Movable => Points::known(points.map(|points| points.movable.keys()), "moving part", name),
            Self::Signal => Points::known(points.map(|points| &points.signals), "module signal", name),
        }
    }
}

/// The arguments of a call that are names, by number.
fn places_of(call: &FnCallExpr) -> Vec<(usize, Kind)> {
    match call.name.as_str() {
        "across" | "connect" | "disconnect" => vec![(0, Kind::End), (1, Kind::End)],
        "through" | "clamp" => vec![(0, Kind::InLine)],
        "unplug" | "plug" => vec![(0, Kind::Connector)],
        "take_out" | "put_back" => vec![(0, Kind::Part)],
        "hold" | "release" | "moving" => vec![(0, Kind::Movable)],
        "module_shows" => vec![(3, Kind::Signal)],
        _ => vec![],
    }
}

fn of_name(position: Position, unknown: &UnknownName) -> Found {
    let title = format!("the circuit has no {} `{}`", unknown.kind, unknown.name);
    (position, title, hint(unknown.nearest.clone()))
}

fn position_of(call: &FnCallExpr, points: Option<&Points>) -> Option<Found> {
    let ((part, _), (place, position)) = (text_of(call.args.first())?, text_of(call.args.get(1))?);
    let error = Points::stands(points, part, place).err()?;
    Some((position, error.to_string(), hint(error.nearest)))
}

fn short_of(call: &FnCallExpr, points: Option<&Points>) -> Option<Found> {
    let ((from, position), (to, _)) = (text_of(call.args.first())?, text_of(call.args.get(1))?);
    let through = match call.args.get(2) {
        Some(given) => Some(quantity_of(given)?),
        None => None,
    };
    let shorts = holds_nothing_back(through) && Points::shorts(points, from, to);
    shorts.then(|| {
        let advice = "connect through a load: `connect(from, to, 2.ohm)`";
        (position, shorts_the_supply(from, to), Some(advice.to_owned()))
    })
}

fn text_of(argument: Option<&Expr>) -> Option<(&str, Position)> {
    match argument? {
        Expr::StringConstant(text, position) => Some((text.as_str(), *position)),
        _ => None,
    }
}

fn leads_of(laid: &FnCallExpr) -> Option<Leads> {
    if !laid.namespace.is_empty() {
        return None;
    }
    let end = |number: usize| Points::end(None, text_of(laid.args.get(number))?.0).ok();
    // Where a clamp goes, or the circuit is opened, may be worked out: what is wrong there does not depend on it.
    let any = || end(0).or_else(|| Points::end(None, "this place").ok());
    match laid.name.as_str() {
        "across" => Some(Leads::Across { red: end(0)?, black: end(1)? }),
        "through" => Some(Leads::Through { at: any()? }),
        "clamp" => Some(Leads::Clamp { at: any()? }),
        _ => None,
    }
}

const fn function_of(dimension: Dimension) -> Option<Function> {
    match dimension {
        Dimension::VOLTAGE => Some(Function::Volts),
        Dimension::CURRENT => Some(Function::Amperes),
        Dimension::RESISTANCE => Some(Function::Ohms),
        Dimension::TEMPERATURE => Some(Function::Temperature),
        _ => None,
    }
}

/// The dimension of limits or ends, as far as it stands there.
fn dimension_of(given: &Expr) -> Option<Dimension> {
    match given {
        Expr::Dot(sides, ..) if matches!(sides.rhs, Expr::MethodCall(..) | Expr::Dot(..)) => dimension_of(&sides.lhs),
        Expr::FnCall(call, _) if call.namespace.is_empty() => match call.name.as_str() {
            "no_limits" => {
                let (unit, _) = text_of(call.args.first())?;
                unit.parse::<Unit>().ok().map(Unit::dimension)
            }
            "between" | "within" | "at_most" | "at_least" | "ends" => {
                quantity_of(call.args.first()?).map(Quantity::dimension)
            }
            _ => None,
        },
        _ => None,
    }
}

/// A number with its unit after a point, as in a script.
fn quantity_of(given: &Expr) -> Option<Quantity> {
    match given {
        Expr::Dot(sides, ..) => {
            let number = match &sides.lhs {
                Expr::FloatConstant(number, _) => **number,
                Expr::IntegerConstant(number, _) => *number as f64,
                _ => return None,
            };
            let Expr::Property(property, _) = &sides.rhs else { return None };
            property.2.parse::<Unit>().ok().map(|unit| unit.quantity(number))
        }
        // A sign before it.
        Expr::FnCall(call, _) if call.args.len() == 1 && call.op_token.is_some() => quantity_of(call.args.first()?),
        _ => None,
    }
}
