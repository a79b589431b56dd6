//! Burns as data and the planners in closed form.
