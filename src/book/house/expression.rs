//! Conditions and demands: checked for fields and types before any design is judged, and then evaluated.
//!
//! A number is a number: whole ones in the text become fractions, and `<=` and its like have the relative slack of every
//! comparison with a limit.

use std::ops::Range;
use std::sync::{Arc, LazyLock};

use cel::common::ast::{CallExpr, Expr, IdedExpr, LiteralValue, SourceInfo, operators};
use cel::common::types::{CelBool, CelDouble};
use cel::{Context, Env, Value as Outcome};

use super::fields::{Element, FieldRow, FieldType, named};
use super::parse::{Fault, clip, parse};
use super::template::unknown;
use super::value::{Row, Value};
use crate::units::SLACK;

/// Deepest that lists may be walked in lists.
const DEEPEST_LISTS: u32 = 2;
/// The comparison with slack; no expression can name it.
const WITHIN: &str = "@within";

/// A checked expression that comes to true or false.
#[derive(Debug)]
pub(crate) struct Expression {
    pub(crate) text: String,
    tree: IdedExpr,
    pub(super) fields: Vec<&'static FieldRow>,
    /// Steps of one evaluation, lists apart.
    steps: u64,
    /// How deep lists are walked in lists.
    lists: u32,
}

/// Why an element could not be judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Undecided {
    /// These fields are not known.
    Unknown(Vec<&'static str>),
    /// Something else, such as an index past the end of a list.
    Fault(String),
}

/// What every evaluation on a thread shares.
pub(crate) struct Evaluator(Context<'static, 'static>);

impl Evaluator {
    pub(crate) fn new() -> Self {
        static ENV: LazyLock<Arc<Env>> = LazyLock::new(|| {
            let mut env = Env::stdlib();
            // The name is free, so that this cannot be refused; without it comparisons would be undecided.
            let _ = cel::add_overload!(env, fn within: (CelDouble, CelDouble) -> CelBool, name = "@within");
            Arc::new(env)
        });
        Self(Context::with_env(Arc::clone(&ENV)))
    }
}

fn within(value: &CelDouble, limit: &CelDouble) -> CelBool {
    let (value, limit) = (*value.inner(), *limit.inner());
    let slack =
        if value.is_finite() && limit.is_finite() { SLACK * limit.abs().max(value.abs()) } else { 0.0 };
    CelBool::from(value <= limit + slack)
}

impl Expression {
    /// Reads and checks an expression.
    pub(super) fn read(text: &str, element: Element) -> Result<Self, Fault> {
        let (tree, info) = parse(text)?;
        let mut checker =
            Checker { element, info: &info, text, names: Vec::new(), fields: Vec::new(), steps: 0, lists: 0 };
        let whole = tree.id;
        let (tree, of) = checker.check(tree, 0)?;
        if of != Type::Flag {
            let headline = format!("the expression comes to {}, not to true or false", of.phrase());
            return Err(Fault::new(checker.whole(whole), headline, "compare it, as in `size_mm2 >= 4`"));
        }
        let (steps, lists) = (checker.steps, checker.lists);
        let mut fields = checker.fields;
        fields.sort_by_key(|row| row.field);
        fields.dedup_by_key(|row| row.field);
        Ok(Self { text: text.into(), tree, fields, steps, lists })
    }

    /// The fields that it reads.
    pub(crate) fn fields(&self) -> &[&'static FieldRow] {
        &self.fields
    }

    /// Steps that an evaluation takes at most.
    pub(crate) fn cost(&self, row: &Row<'_>) -> u64 {
        let longest = row.longest() as u64 + 1;
        self.steps.saturating_mul(longest.saturating_pow(self.lists.max(u32::from(1 < longest))))
    }

    /// Whether it holds for an element.
    pub(crate) fn holds(&self, evaluator: &Evaluator, row: &Row<'_>) -> Result<bool, Undecided> {
        let mut scope = evaluator.0.new_inner_scope();
        scope.set_variable_resolver(row);
        let undecided = match Outcome::resolve_val(&self.tree, &scope) {
            Ok(value) => match value.downcast_ref::<CelBool>() {
                Some(flag) => return Ok(*flag.inner()),
                None => String::new(),
            },
            Err(error) => error.to_string(),
        };
        let unknown =
            |field: &&&'static FieldRow| row.get(field.name).is_none_or(|row| row.1 == Value::Unknown);
        let unknown: Vec<_> = self.fields.iter().filter(unknown).map(|field| field.name).collect();
        // A list of devices has figures of its own that may not be known.
        let inside =
            self.fields.iter().filter(|field| field.holds == FieldType::Devices).map(|field| field.name);
        match (unknown.is_empty(), inside.collect::<Vec<_>>()) {
            (false, _) => Err(Undecided::Unknown(unknown)),
            (true, inside) if !inside.is_empty() && undecided.contains("null_type") => {
                Err(Undecided::Unknown(inside))
            }
            (true, _) => Err(Undecided::Fault(clip(&undecided))),
        }
    }
}

/// What a part of an expression comes to.
#[derive(Debug, Clone, PartialEq)]
enum Type {
    Null,
    Flag,
    Number,
    Text,
    Device,
    List(Box<Type>),
    /// A list without members.
    Empty,
}

impl Type {
    fn of(holds: FieldType) -> Self {
        match holds {
            FieldType::Number => Self::Number,
            FieldType::Text => Self::Text,
            FieldType::Flag => Self::Flag,
            FieldType::Texts => Self::List(Box::new(Self::Text)),
            FieldType::Devices => Self::List(Box::new(Self::Device)),
        }
    }

    fn phrase(&self) -> &'static str {
        match self {
            Self::Null => "null",
            Self::Flag => "true or false",
            Self::Number => "a number",
            Self::Text => "a text",
            Self::Device => "a device",
            Self::List(_) | Self::Empty => "a list",
        }
    }

    fn is_list(&self) -> bool {
        matches!(self, Self::List(_) | Self::Empty)
    }

    /// Lists without members go with any list.
    fn goes_with(&self, other: &Self) -> bool {
        self == other
            || (*self == Self::Empty && other.is_list())
            || (*other == Self::Empty && self.is_list())
    }
}

type Checked = Result<(IdedExpr, Type), Fault>;

struct Checker<'t> {
    element: Element,
    info: &'t SourceInfo,
    text: &'t str,
    /// Names that comprehensions bring in, innermost last.
    names: Vec<(String, Type)>,
    fields: Vec<&'static FieldRow>,
    steps: u64,
    lists: u32,
}

impl Checker<'_> {
    /// Where a part is written, by bytes.
    fn at(&self, id: u64) -> Range<usize> {
        let Some((from, to)) = self.info.offset_for(id) else { return 0..self.text.len() };
        let byte = |at: u32| self.text.char_indices().nth(at as usize).map_or(self.text.len(), |one| one.0);
        byte(from)..byte(to.saturating_add(1)).max(byte(from))
    }

    fn whole(&self, id: u64) -> Range<usize> {
        if self.info.offset_for(id).is_some() { self.at(id) } else { 0..self.text.len() }
    }

    fn fault<T>(&self, id: u64, headline: impl Into<String>, help: impl Into<String>) -> Result<T, Fault> {
        Err(Fault::new(self.at(id), headline, help))
    }

    /// A part, made ready; `lists` is how many lists are being walked around it.
    fn check(&mut self, part: IdedExpr, lists: u32) -> Checked {
        self.steps += 1;
        let id = part.id;
        let made = |expr, of| Ok((IdedExpr { id, expr }, of));
        match part.expr {
            Expr::Literal(LiteralValue::Int(number)) => {
                made(number_literal(*number.inner() as f64), Type::Number)
            }
            Expr::Literal(LiteralValue::UInt(number)) => {
                made(number_literal(*number.inner() as f64), Type::Number)
            }
            Expr::Literal(LiteralValue::Double(number)) => {
                made(number_literal(*number.inner()), Type::Number)
            }
            Expr::Literal(LiteralValue::Boolean(_)) => made(part.expr, Type::Flag),
            Expr::Literal(LiteralValue::String(_)) => made(part.expr, Type::Text),
            Expr::Literal(LiteralValue::Null) => made(part.expr, Type::Null),
            Expr::Literal(LiteralValue::Bytes(_)) => {
                self.fault(id, "bytes have no use here", "write a text in quotes")
            }
            Expr::Ident(ref name) => {
                let of = self.name(id, name)?;
                made(part.expr, of)
            }
            Expr::Select(select) => {
                let (operand, of) = self.check(*select.operand, lists)?;
                if of != Type::Device {
                    let help = "only the devices of a list have fields of their own, after a point";
                    return self.fault(id, format!("{} has no `{}`", of.phrase(), clip(&select.field)), help);
                }
                let of = match select.field.as_str() {
                    "name" | "kind" | "type" => Type::Text,
                    "rating_a" => Type::Number,
                    other => {
                        let headline = format!("a device of a list has no `{}`", clip(other));
                        return self.fault(id, headline, "it has name, kind, type and rating_a");
                    }
                };
                let read = cel::common::ast::SelectExpr {
                    operand: Box::new(operand),
                    field: select.field,
                    test: false,
                };
                let (read, of) = (IdedExpr { id, expr: Expr::Select(read) }, of);
                if select.test { Ok((known(read), Type::Flag)) } else { Ok((read, of)) }
            }
            Expr::List(list) if list.optional_indices.is_empty() => {
                let mut members = Vec::with_capacity(list.elements.len());
                let mut all = Type::Empty;
                for member in list.elements {
                    let at = member.id;
                    let (member, of) = self.check(member, lists)?;
                    if let Type::List(first) = &all
                        && **first != of
                    {
                        let headline = format!("{} in a list of another sort", of.phrase());
                        return self.fault(at, headline, "put members of one sort into a list");
                    }
                    all = Type::List(Box::new(of));
                    members.push(member);
                }
                made(Expr::List(cel::common::ast::ListExpr::new(members)), all)
            }
            Expr::Call(call) => self.call(id, call, lists),
            Expr::Comprehension(_) => self.comprehension(part, lists),
            Expr::List(_) | Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified => {
                self.fault(id, "this has no use in a rule", "compare fields, as in `size_mm2 >= 4`")
            }
        }
    }

    fn name(&mut self, id: u64, name: &str) -> Result<Type, Fault> {
        if let Some((_, of)) = self.names.iter().rev().find(|row| row.0 == name) {
            return Ok(of.clone());
        }
        let Some(row) = named(name).filter(|row| row.suits(self.element)) else {
            return Err(unknown(name, self.element, self.at(id)));
        };
        self.fields.push(row);
        Ok(Type::of(row.holds))
    }

    fn call(&mut self, id: u64, call: CallExpr, lists: u32) -> Checked {
        let CallExpr { func_name: name, target, args } = call;
        let n_args = args.len() + usize::from(target.is_some());
        let is_method = target.is_some();
        if name == operators::INDEX && n_args == 2 {
            return self.index(id, args, lists);
        }
        let mut parts = Vec::with_capacity(n_args);
        for part in target.map(|target| *target).into_iter().chain(args) {
            parts.push(self.check(part, lists)?);
        }
        let types: Vec<Type> = parts.iter().map(|part| part.1.clone()).collect();
        let args: Vec<IdedExpr> = parts.into_iter().map(|part| part.0).collect();
        let global = |name: &str, args| IdedExpr {
            id,
            expr: Expr::Call(CallExpr { func_name: name.into(), target: None, args }),
        };
        let not = |one| global(operators::LOGICAL_NOT, vec![one]);
        let all = |of: Type| types.iter().all(|one| *one == of);
        match (name.as_str(), types.as_slice()) {
            (operators::LOGICAL_AND | operators::LOGICAL_OR, [_, _])
            | (operators::LOGICAL_NOT | operators::NOT_STRICTLY_FALSE, [_])
                if all(Type::Flag) =>
            {
                Ok((global(&name, args), Type::Flag))
            }
            (operators::CONDITIONAL, [Type::Flag, one, other]) if one.goes_with(other) => {
                let of = if *one == Type::Empty { other.clone() } else { one.clone() };
                Ok((global(&name, args), of))
            }
            (operators::EQUALS | operators::NOT_EQUALS, [one, other])
                if (one == other || *one == Type::Null || *other == Type::Null)
                    && !(one.is_list() && other.is_list()) =>
            {
                Ok((global(&name, args), Type::Flag))
            }
            (
                operators::LESS | operators::LESS_EQUALS | operators::GREATER | operators::GREATER_EQUALS,
                [_, _],
            ) if all(Type::Number) => {
                let mut args = args;
                if matches!(name.as_str(), operators::LESS | operators::GREATER_EQUALS) {
                    args.reverse();
                }
                let held = global(WITHIN, args);
                let strict = matches!(name.as_str(), operators::LESS | operators::GREATER);
                Ok((if strict { not(held) } else { held }, Type::Flag))
            }
            (operators::ADD | operators::SUBSTRACT | operators::MULTIPLY | operators::DIVIDE, [_, _])
            | (operators::NEGATE, [_])
                if all(Type::Number) =>
            {
                Ok((global(&name, args), Type::Number))
            }
            // A list grows by what a `filter` keeps, and not otherwise: nothing else can name its result.
            (operators::ADD, [one, other]) if one.is_list() && one.goes_with(other) && is_result(&args) => {
                Ok((global(&name, args), other.clone()))
            }
            (operators::IN, [one, Type::List(of)]) if *one == **of => Ok((global(&name, args), Type::Flag)),
            (operators::IN, [_, Type::Empty]) => Ok((global(&name, args), Type::Flag)),
            ("size", [one]) if one.is_list() || *one == Type::Text => {
                Ok((global("double", vec![global("size", args)]), Type::Number))
            }
            ("startsWith" | "endsWith" | "contains", [_, _]) if is_method && all(Type::Text) => {
                let mut args = args.into_iter();
                let target = args.next().map(Box::new);
                let call = CallExpr { func_name: name, target, args: args.collect() };
                Ok((IdedExpr { id, expr: Expr::Call(call) }, Type::Flag))
            }
            ("known", [_]) if !is_method => {
                Ok((args.into_iter().next().map(known).unwrap_or_default(), Type::Flag))
            }
            _ => self.unsuited(id, &name, &types),
        }
    }

    fn index(&mut self, id: u64, args: Vec<IdedExpr>, lists: u32) -> Checked {
        let mut args = args.into_iter();
        let (Some(list), Some(at)) = (args.next(), args.next()) else {
            return self.fault(id, "this has no use in a rule", "leave it out");
        };
        let (list, of) = self.check(list, lists)?;
        let whole = matches!(&at.expr, Expr::Literal(LiteralValue::Int(number)) if (0..1_000).contains(number.inner()));
        match of {
            Type::List(of) if whole => {
                let call =
                    CallExpr { func_name: operators::INDEX.into(), target: None, args: vec![list, at] };
                Ok((IdedExpr { id, expr: Expr::Call(call) }, *of))
            }
            of => {
                let headline = format!("{} is not counted off like this", of.phrase());
                self.fault(id, headline, "a list's members are `list[0]`, `list[1]` and so on")
            }
        }
    }

    fn unsuited<T>(&self, id: u64, name: &str, types: &[Type]) -> Result<T, Fault> {
        let told: Vec<&str> = types.iter().map(Type::phrase).collect();
        let told = told.join(" and ");
        let sign = match name {
            operators::CONDITIONAL => "? :".into(),
            operators::IN => "in".into(),
            name => clip(name).replace('_', ""),
        };
        let (headline, help) = match name {
            operators::LOGICAL_AND | operators::LOGICAL_OR | operators::LOGICAL_NOT => (
                format!("`{sign}` joins what is true or false, here {told}"),
                "compare each part first".to_owned(),
            ),
            operators::ADD if types.contains(&Type::Text) => (
                "texts are not joined in an expression".to_owned(),
                "a message takes values by `{field}`".to_owned(),
            ),
            operators::ADD if types.iter().any(Type::is_list) => (
                "lists are neither joined nor turned into others".to_owned(),
                "exists, exists_one, all and filter walk a list".to_owned(),
            ),
            operators::CONDITIONAL => (
                format!("`? :` chooses by true or false between two of one sort, here {told}"),
                "give both the same sort".to_owned(),
            ),
            name if name.chars().any(|one| !one.is_ascii_alphanumeric()) && name != operators::MODULO => (
                format!("`{sign}` does not go with {told}"),
                "numbers are compared with numbers, texts with texts in quotes".to_owned(),
            ),
            "matches" => (
                "patterns are not part of rules".to_owned(),
                "use startsWith, endsWith, contains or `in`".to_owned(),
            ),
            "size" | "startsWith" | "endsWith" | "contains" | "known" => (
                format!("`{sign}` does not go with {told}"),
                "it is used as in `name.startsWith('W')`".to_owned(),
            ),
            _ => (
                format!("`{sign}` is not part of rules"),
                "there are known, size, startsWith, endsWith, contains, exists, exists_one, all and filter"
                    .to_owned(),
            ),
        };
        self.fault(id, headline, help)
    }

    fn comprehension(&mut self, part: IdedExpr, lists: u32) -> Checked {
        let id = part.id;
        let Expr::Comprehension(one) = part.expr else {
            return self.fault(id, "this has no use in a rule", "leave it out");
        };
        let mut one = *one;
        if one.iter_var2.is_some() || named(&one.iter_var).is_some() || DEEPEST_LISTS <= lists {
            let (headline, help) = match named(&one.iter_var).is_some() {
                true => {
                    (format!("`{}` is a field already", one.iter_var), "name the member otherwise".to_owned())
                }
                false => (
                    format!("lists are walked more than {DEEPEST_LISTS} deep"),
                    "make two rules of it".to_owned(),
                ),
            };
            return self.fault(id, headline, help);
        }
        self.lists = self.lists.max(lists + 1);
        let (range, of) = self.check(one.iter_range, lists)?;
        let member = match of {
            Type::List(of) => *of,
            Type::Empty => Type::Null,
            other => return self.fault(id, format!("{} has no members", other.phrase()), "walk a list"),
        };
        let (start, mut result) = self.check(one.accu_init, lists)?;
        if result == Type::Empty {
            result = Type::List(Box::new(member.clone()));
        }
        let names = self.names.len();
        self.names.push((one.iter_var.clone(), member));
        self.names.push((one.accu_var.clone(), result.clone()));
        let (condition, goes_on) = self.check(one.loop_cond, lists + 1)?;
        let (step, becomes) = self.check(one.loop_step, lists + 1)?;
        let (last, of) = self.check(one.result, lists)?;
        self.names.truncate(names);
        if goes_on != Type::Flag || !becomes.goes_with(&result) {
            return self.fault(id, format!("a member comes to {} here", becomes.phrase()), "compare it");
        }
        one.iter_range = range;
        one.accu_init = start;
        one.loop_cond = condition;
        one.loop_step = step;
        one.result = last;
        Ok((IdedExpr { id, expr: Expr::Comprehension(Box::new(one)) }, of))
    }
}

fn number_literal(value: f64) -> Expr {
    Expr::Literal(LiteralValue::Double(CelDouble::from(value)))
}

/// Whether the first part is the list that a `filter` gathers.
fn is_result(args: &[IdedExpr]) -> bool {
    matches!(args.first().map(|one| &one.expr), Some(Expr::Ident(name)) if name.starts_with('@'))
}

/// Whether a part is known.
fn known(part: IdedExpr) -> IdedExpr {
    let null = IdedExpr { id: part.id, expr: Expr::Literal(LiteralValue::Null) };
    let id = part.id;
    let args = vec![part, null];
    IdedExpr {
        id,
        expr: Expr::Call(CallExpr { func_name: operators::NOT_EQUALS.into(), target: None, args }),
    }
}
