//! The shipped procedures, where a meter shows what a hand meets at the vehicle.

use crate::place::{Place, SAFE};

#[test]
fn a_draw_over_range_with_a_fuse_out_frees_nothing_and_the_next_fuse_is_pulled() {
    let place = Place::new();
    place.file(
        "answers.toml",
        "procedure = \"key_off_draw\"\n[answers]\nbattery = \"12.57\"\ndraw = \"417.3 mA\"\ndrop_f1 = \"2.3 mV\"\n\
         drop_f2 = \"1.3 mV\"\ndrop_f3 = \"0.0 mV\"\ndrop_f4 = \"0.0 mV\"\ndraw_without_f1 = \"OL\"\n\
         draw_without_f2 = \"14.1 mA\"\n",
    );
    let mut call = place.call("run key_off_draw --answers answers.toml");
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    call.go().ended(0).says("The branch of fuse F2 (lights, glove box) draws too much");
}
