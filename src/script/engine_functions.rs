//! The functions that the engine brings along, in its groups, with the numbers of arguments they take and what they do.

/// A function that the engine brings along: its name, how many arguments it takes, what it does.
pub type Brought = (&'static str, &'static [usize], &'static str);

/// Functions of the engine that belong together, and the signs in a text that need them without a name.
pub struct Group {
    /// The functions.
    pub functions: &'static [Brought],
    /// The signs; `in` is a word of its own.
    pub signs: &'static [&'static str],
}

/// The word that asks whether a list or a text has something in it.
pub const IN: &str = "in";

/// Whole numbers, comparing, printing, counting: every script may need them.
pub const BASIC: Group = Group {
    signs: &[],
    functions: &[
        ("Fn", &[1], "A function by its name, to be called later."),
        ("abs", &[1], "A number without its sign."),
        ("bits", &[1, 2, 3], "The bits of a whole number, for a loop."),
        ("chars", &[1, 2, 3], "The letters of a text, for a loop."),
        ("contains", &[2], "Whether a text, list, map or range has something in it."),
        ("debug", &[0, 1], "Shows a remark to the technician; it is not in the record."),
        ("end", &[1], "Where a range ends."),
        ("exit", &[0, 1], "Ends the script, without a conclusion."),
        ("is_anonymous", &[1], "Whether a function has no name."),
        ("is_def_fn", &[2], "Whether the script defines a function of this name with so many arguments."),
        ("is_def_var", &[1], "Whether there is a variable of this name."),
        ("is_empty", &[1], "Whether a text, list, map or range has nothing in it."),
        ("is_even", &[1], "Whether a whole number is even."),
        ("is_exclusive", &[1], "Whether a range leaves its end out: `0..5`."),
        ("is_inclusive", &[1], "Whether a range has its end in it: `0..=5`."),
        ("is_odd", &[1], "Whether a whole number is odd."),
        ("is_shared", &[1], "Whether a value is held by a function, too."),
        ("is_zero", &[1], "Whether a number is zero."),
        ("max", &[2], "The larger of two numbers, or the later of two texts."),
        ("min", &[2], "The smaller of two numbers, or the earlier of two texts."),
        ("name", &[1], "The name of a function."),
        ("print", &[0, 1], "Shows a remark to the technician; it is not in the record."),
        ("range", &[2, 3], "From a number to below another, in steps, for a loop."),
        ("set_tag", &[2], "Puts a number beside a value."),
        ("sign", &[1], "-1, 0 or 1: the sign of a number."),
        ("start", &[1], "Where a range begins."),
        ("tag", &[1], "The number that was put beside a value."),
        ("take", &[1], "Takes a value out of its variable."),
        ("to_binary", &[1], "A whole number in ones and zeros."),
        ("to_debug", &[1], "A value as text, texts in their quotes."),
        ("to_hex", &[1], "A whole number in hexadecimal digits."),
        ("to_int", &[1], "A number without its decimals."),
        ("to_octal", &[1], "A whole number in octal digits."),
        ("to_string", &[1], "A value as text."),
        ("type_of", &[1], "What kind of value it is."),
    ],
};

/// Roots, logarithms, angles.
pub const MATHEMATICS: Group = Group {
    signs: &[],
    functions: &[
        ("E", &[0], "The number e."),
        ("PI", &[0], "The number π."),
        ("acos", &[1], "Arc cosine, in radians."),
        ("acosh", &[1], "Inverse hyperbolic cosine."),
        ("asin", &[1], "Arc sine, in radians."),
        ("asinh", &[1], "Inverse hyperbolic sine."),
        ("atan", &[1, 2], "Arc tangent, of a number or of two sides, in radians."),
        ("atanh", &[1], "Inverse hyperbolic tangent."),
        ("ceiling", &[1], "The next whole number above."),
        ("cos", &[1], "Cosine of radians."),
        ("cosh", &[1], "Hyperbolic cosine."),
        ("exp", &[1], "e to the power of a number."),
        ("floor", &[1], "The next whole number below."),
        ("fraction", &[1], "The decimals of a number."),
        ("hypot", &[2], "The long side of a right-angled triangle."),
        ("int", &[1], "What is before the point."),
        ("is_finite", &[1], "Whether it is a number, and not infinite."),
        ("is_infinite", &[1], "Whether it is infinite."),
        ("is_nan", &[1], "Whether it is not a number."),
        ("ln", &[1], "Natural logarithm."),
        ("log", &[1, 2], "Logarithm to the base 10, or to another."),
        ("parse_float", &[1], "A text as a number."),
        ("parse_int", &[1, 2], "A text as a whole number, in base 10 or another."),
        ("round", &[1], "The nearest whole number."),
        ("sin", &[1], "Sine of radians."),
        ("sinh", &[1], "Hyperbolic sine."),
        ("sqrt", &[1], "Square root."),
        ("tan", &[1], "Tangent of radians."),
        ("tanh", &[1], "Hyperbolic tangent."),
        ("to_degrees", &[1], "Radians as degrees."),
        ("to_float", &[1], "A whole number as one with a point."),
        ("to_int", &[1], "A number without its decimals."),
        ("to_radians", &[1], "Degrees as radians."),
    ],
};

/// Lists.
pub const LISTS: Group = Group {
    signs: &["[", "==", "!=", "+", IN],
    functions: &[
        ("all", &[2], "Whether a function holds for everything in a list."),
        ("append", &[2], "Puts another list after this one."),
        ("chop", &[2], "Keeps the last so many of a list."),
        ("clear", &[1], "Empties it."),
        ("contains", &[2], "Whether a text, list, map or range has something in it."),
        ("dedup", &[1, 2], "Takes out what repeats the one before it."),
        ("drain", &[2, 3], "Takes a part out and gives it."),
        ("extract", &[2, 3], "A part of a list."),
        ("filter", &[2], "Everything for which a function holds."),
        ("find", &[2, 3], "The first for which a function holds."),
        ("find_map", &[2, 3], "The first thing that a function finds."),
        ("for_each", &[2], "Calls a function with everything in a list."),
        ("get", &[2], "One of a list, counted from 0; from the end with -1."),
        ("index_of", &[2, 3], "The place of the first one; -1 if there is none."),
        ("insert", &[3], "Puts something into a list at a place."),
        ("is_empty", &[1], "Whether a text, list, map or range has nothing in it."),
        ("len", &[1], "How many there are in a list or map, or letters in a text."),
        ("map", &[2], "What a function makes of everything in a list."),
        ("order", &[1, 2], "The list in order, by a function if one is given."),
        ("order_by", &[2], "The list in the order that a function says."),
        ("order_desc", &[1], "The list in falling order."),
        ("pad", &[3], "Fills a list or text up to a length."),
        ("pop", &[1], "Takes the last one out and gives it."),
        ("push", &[2], "Puts something at the end."),
        ("reduce", &[2, 3], "What a function makes of everything in a list, one after another."),
        ("reduce_rev", &[2, 3], "The same from the end."),
        ("remove", &[2], "Removes the entry at a place, and gives it."),
        ("retain", &[2, 3], "Keeps a part, and gives the rest."),
        ("reverse", &[1], "Reverses the list."),
        ("set", &[3], "Puts something in the place of another."),
        ("shift", &[1], "Takes the first one out and gives it."),
        ("some", &[2], "Whether a function holds for anything in a list."),
        ("sort", &[1, 2], "Puts the list in order, by a function if one is given."),
        ("sort_by", &[2], "Puts the list in the order that a function says."),
        ("sort_desc", &[1], "Puts the list in falling order."),
        ("splice", &[3, 4], "Puts another list in the place of a part."),
        ("split", &[2], "Cuts a list in two, and gives the second part."),
        ("truncate", &[2], "Cuts off what is beyond a length."),
        ("zip", &[3], "What a function makes of two lists side by side."),
    ],
};

/// Maps.
pub const MAPS: Group = Group {
    signs: &["#{"],
    functions: &[
        ("clear", &[1], "Empties it."),
        ("contains", &[2], "Whether a text, list, map or range has something in it."),
        ("drain", &[2], "Takes a part out and gives it."),
        ("fill_with", &[2], "Takes from another map what this one has not."),
        ("filter", &[2], "Everything for which a function holds."),
        ("get", &[2], "The value of a name."),
        ("is_empty", &[1], "Whether a text, list, map or range has nothing in it."),
        ("keys", &[1], "The names in a map."),
        ("len", &[1], "How many there are in a list or map, or letters in a text."),
        ("map", &[2], "What a function makes of everything in it."),
        ("mixin", &[2], "Takes everything from another map."),
        ("remove", &[2], "Removes a name, and gives its value."),
        ("retain", &[2], "Keeps a part, and gives the rest."),
        ("set", &[3], "Puts something under a name."),
        ("to_json", &[1], "The map as JSON."),
        ("values", &[1], "The values of a map."),
    ],
};

/// Texts.
pub const TEXTS: Group = Group {
    signs: &["+", "`", IN],
    functions: &[
        ("append", &[2], "Puts another text after this one."),
        ("bytes", &[1], "How many bytes a text has."),
        ("clear", &[1], "Empties it."),
        ("contains", &[2], "Whether a text, list, map or range has something in it."),
        ("crop", &[2, 3], "Keeps a part of a text."),
        ("ends_with", &[2], "Whether a text ends with another."),
        ("get", &[2], "One letter, counted from 0; from the end with -1."),
        ("index_of", &[2, 3], "The place of the first match; -1 if there is none."),
        ("is_empty", &[1], "Whether a text, list, map or range has nothing in it."),
        ("len", &[1], "How many there are in a list or map, or letters in a text."),
        ("make_lower", &[1], "Turns a text into small letters."),
        ("make_upper", &[1], "Turns a text into capitals."),
        ("max", &[2], "The larger of two numbers, or the later of two texts."),
        ("min", &[2], "The smaller of two numbers, or the earlier of two texts."),
        ("pad", &[3], "Fills a list or text up to a length."),
        ("pop", &[1, 2], "Takes the last letters off and gives them."),
        ("remove", &[2], "Removes a letter or text everywhere."),
        ("replace", &[3], "Replaces one text by another everywhere."),
        ("set", &[3], "Puts a letter in the place of another."),
        ("split", &[1, 2, 3], "A text cut at spaces, or at what is given, as a list."),
        ("split_rev", &[2, 3], "The same from the end."),
        ("starts_with", &[2], "Whether a text starts with another."),
        ("sub_string", &[2, 3], "A part of a text."),
        ("to_blob", &[1], "The bytes of a text."),
        ("to_chars", &[1], "The letters of a text as a list."),
        ("to_lower", &[1], "A text in small letters."),
        ("to_upper", &[1], "A text in capitals."),
        ("trim", &[1], "Takes the spaces off both ends."),
        ("truncate", &[2], "Cuts off what is beyond a length."),
    ],
};

/// All that the engine brings along.
pub const BROUGHT: [&Group; 5] = [&BASIC, &MATHEMATICS, &LISTS, &MAPS, &TEXTS];
