//! The trade's arithmetic, bound to the script language in small groups.
mod bind;
mod circuits;
mod codes;
mod meters;
mod sensors;

#[cfg(test)]
mod tests;

use rhai::Module;

/// Every helper, for registering with `Engine::register_global_module`; build it once and share it.
pub fn module() -> Module {
    let mut module = Module::new();
    module.set_id("helpers");
    circuits::bind(&mut module);
    sensors::bind(&mut module);
    meters::bind(&mut module);
    codes::bind(&mut module);
    module.build_index();
    module
}
