//! A unit made ready for forecasting: what does not change from draw to draw, and the mixture at one draw.
use crate::exposure::exposure;
use crate::forecast::Horizon;
use crate::history::{Node, UnitHistory, nodes, subject};
use crate::kind_fit::{KindFit, posterior};
use crate::predictive::Element;
use crate::prior::{Clock, InputError, KindPrior, T0};
use crate::record::{ALPHA, GAMMA, LN_BETA, Subject, dot, node_weights};

/// The unit with everything that does not change from draw to draw.
pub(crate) struct Prepared<'a> {
    pub prior: &'a KindPrior,
    pub fit: &'a KindFit,
    pub history: &'a UnitHistory,
    pub nodes: Vec<Node>,
    pub subject: Subject,
}

impl<'a> Prepared<'a> {
    pub fn new(
        prior: &'a KindPrior,
        fit: &'a KindFit,
        history: &'a UnitHistory,
    ) -> Result<Self, InputError> {
        prior.check()?;
        fit.fits(prior)?;
        history.check(prior.covariates.len())?;
        let nodes = nodes(history, prior);
        let subject = subject(history, prior, &fit.shares, &nodes);
        Ok(Self {
            prior,
            fit,
            history,
            nodes,
            subject,
        })
    }

    /// Base exposure ahead per node and clock (weights of the clocks included); empty without part clocks.
    pub fn ahead(&self, horizon: &Horizon) -> Vec<Vec<f64>> {
        if self.prior.parts.is_empty() {
            return Vec::new();
        }
        let clocks = self.prior.clocks(Some(&self.fit.shares));
        let places = || clocks.iter().copied().enumerate();
        self.nodes
            .iter()
            .map(|node| {
                places()
                    .map(|clock| self.clock_ahead(horizon, clock, node.installed))
                    .collect()
            })
            .collect()
    }

    fn clock_ahead(&self, horizon: &Horizon, clock: (usize, Clock), installed: f64) -> f64 {
        let spell = |span| self.history.spell(self.prior, clock, installed, span);
        let pieces = horizon
            .pieces
            .iter()
            .map(|(from, until, weight)| weight * spell((*from, *until)));
        clock.1.weight * pieces.sum::<f64>()
    }

    /// Failures expected ahead at z = 1 under parameters `p`, per node.
    fn expected_ahead(&self, horizon: &Horizon, base: &[Vec<f64>], p: &[f64]) -> Vec<f64> {
        let rate = (p[ALPHA] + dot(&p[GAMMA..], &self.history.present)).exp();
        if !self.prior.parts.is_empty() {
            return base
                .iter()
                .map(|clocks| rate * clocks.iter().sum::<f64>())
                .collect();
        }
        let beta = p[LN_BETA].exp();
        self.nodes
            .iter()
            .map(|node| {
                let pieces = horizon.pieces.iter().map(|(from, until, weight)| {
                    weight * exposure(from - node.installed, until - node.installed, beta, T0).value
                });
                rate * pieces.sum::<f64>()
            })
            .collect()
    }

    /// The mixture's elements at one parameter vector; weights sum to 1.
    pub fn elements(&self, horizon: &Horizon, p: &[f64]) -> Vec<Element> {
        self.elements_with(horizon, &self.ahead(horizon), p)
    }

    pub fn elements_with(&self, horizon: &Horizon, base: &[Vec<f64>], p: &[f64]) -> Vec<Element> {
        let ahead = self.expected_ahead(horizon, base, p);
        node_weights(&self.subject, p, T0)
            .into_iter()
            .zip(&self.subject.nodes)
            .zip(ahead)
            .map(|((weight, (_, record)), ahead)| Element {
                weight,
                posterior: posterior(record, p),
                usual: record.mu(p, T0),
                ahead,
            })
            .filter(|e| e.weight > 1e-9)
            .collect()
    }
}
