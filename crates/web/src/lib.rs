//! The workbench: pages, forms, pictures, and the server that gives them to the laptop and to the phone.
//!
//! `web` computes nothing: findings, answers and documents come from below, and are drawn here.

mod answers;
mod attach;
mod demo;
mod desk;
mod fill;
mod grow;
mod guard;
mod holder;
mod look;
mod make;
mod net;
mod page;
mod pages;
mod quick;
mod routes;
mod rows;
mod serve;
mod standing;
mod tell;
mod things;
mod words;

pub use desk::Outside;
pub use serve::{
    Browser, ForPhones, Opened, PORT, Reach, Running, Setup, Trouble, open, outside, start,
};
