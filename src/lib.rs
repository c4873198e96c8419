#![doc = "The library behind the `ohmwright` program. `DEVELOPERS.md` is the map of the house."]
pub mod circuit;
pub mod cli;
pub mod electrical;
pub mod evidence;
pub mod model;
pub mod records;
pub mod report;
pub mod run;
pub mod script;
pub mod shop;
