//! Tiny generated cases of both models, tried out plan by plan: the optimisers must find exactly the best, the
//! audits (which share no code with them) say which plans count and what they cost. Invented data.
mod programme;
mod rounds;
mod rounds_case;
