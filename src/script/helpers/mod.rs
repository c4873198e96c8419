//! The trade's arithmetic, bound to the script language in small groups.
mod bind;
mod circuits;
mod codes;
mod meters;
mod sensors;

#[cfg(test)]
mod tests;

use super::wanted::Wanted;
use rhai::Module;

/// Every helper, for registering with `Engine::register_global_module`; build it once and share it.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    module.set_id("helpers");
    circuits::bind(&mut module, wanted);
    sensors::bind(&mut module, wanted);
    meters::bind(&mut module, wanted);
    codes::bind(&mut module, wanted);
    module.build_index();
    module
}
