//! What the agent reads, what the landlord decides, and what stands afterwards.
use chrono::{Months, NaiveDate};

use super::Story;
use crate::advice::adds_up;
use crate::support::pdf::pages_of;

impl Story {
    /// What the agent sees: the quote between its two limits, on Today, in the list and in the advice.
    pub(super) fn the_agent_reads(&self) {
        let b = &self.browser;
        b.forget();
        b.come_in_as("Nell Askwith");
        self.look("today");
        let words = b.words();
        assert!(
            words.contains(
                "Combi gas boiler in flat 17, Sorrel House: Quillet Heating quotes £378.00"
            )
        );
        assert!(adds_up(&b.source()) > 0);
        b.go("/advice");
        self.look("advice-list");
        b.press_in_row("in flat 17,", "Decide");
        b.arrives("/advice/");
        let words = b.words();
        for said in [
            "Two limits",
            "May be agreed without asking: £250.00 by the managing agent. The quote is £128.00 over it",
            "Replace, like for like",
            "filter, scale reducer, flush, controls and longer warranty",
            "Fails within a year",
            "7 years",
            "Ruled out here",
            "There is nowhere to run the discharge pipe",
        ] {
            assert!(words.contains(said), "“{said}” is not in {words}");
        }
        assert!(adds_up(&b.source()) > 0);
        self.look("advice");
        b.press("Print the two pages");
        b.arrives("/pack");
        self.look("pack");
        let sheets = pages_of(&b.print("pack"));
        assert_eq!(sheets, 2, "two printed pages");
    }

    /// The landlord reads his letter and decides.
    pub(super) fn the_landlord_decides(&self, choice: &str, why: &str) {
        let b = &self.browser;
        b.forget();
        b.come_in_as("Imre Calverdale");
        assert_eq!(b.path(), "/letter");
        assert!(adds_up(&b.source()) > 0);
        self.look("letter");
        b.press_in_row("in flat 17,", "Decide");
        b.arrives("/advice/");
        b.choose("choice", choice);
        self.look("deciding");
        b.press_css("main button.press");
        b.until("a decision without a reason is refused", || b.has(".wrong"));
        b.answer("reason", why);
        let advice = b.path().replace("/decide", "");
        b.press_css("main button.press");
        b.until("he is back at his letter", || b.path() == "/letter");
        assert!(
            b.words().contains("Decided, with your reason kept."),
            "{}",
            b.words()
        );
        self.look("letter-after");
        b.go(&advice);
        let words = b.words();
        for said in [
            "Imre Calverdale, landlord decided",
            why,
            "Below is the advice as it stood then",
        ] {
            assert!(words.contains(said), "“{said}” is not in {words}");
        }
        self.look("decided");
    }

    /// The check keeps its date and the record of the visit stands, whatever was decided.
    pub(super) fn the_check_kept_its_date(&self, due_before: NaiveDate) {
        assert_eq!(
            self.gas_check_due(),
            due_before + Months::new(12),
            "done inside the two months that end with the deadline: the day stays (rule W1, law, from a public \
             guidance page)"
        );
        let b = &self.browser;
        b.forget();
        b.come_in_as("Nell Askwith");
        b.go(&format!("/units/{}", self.boiler));
        let words = b.words();
        assert!(words.contains("found at a service"), "{words}");
        assert!(
            words.contains("The diverter valve sticks half way"),
            "{words}"
        );
        self.look("unit");
        b.go(&format!("/duties/{}", self.boiler));
        self.look("what-proves-it");
    }
}
