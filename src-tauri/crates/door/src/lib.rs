//! The door: the commands and the screens over HTTP, on loopback for the window and over HTTPS
//! for phones on the local network.

mod answer;
mod camera;
mod certificate;
mod fault;
mod gate;
mod live;
mod pictures;
mod router;
mod screens;
mod serve;

pub use camera::{Camera, Cameras};
pub use fault::DoorFault;
pub use pictures::{Picture, Pictures};
pub use serve::{Computer, Ending, Running, serve_lan, serve_loopback, serve_window};
