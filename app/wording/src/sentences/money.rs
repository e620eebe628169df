//! Money in words. Quotes, limits and prices keep their pence; a model's result is in whole pounds.
use terms::Pence;

/// "£412.00": a price, a quote, a limit.
pub fn exact(amount: Pence) -> String {
    amount.to_string()
}

/// "£412", "−£16": to the nearest pound, half away from zero; for drawings and estimates.
pub fn whole(amount: Pence) -> String {
    let pounds = (amount.0.unsigned_abs() + 50) / 100;
    let sign = if amount.0 < 0 && pounds > 0 {
        "−"
    } else {
        ""
    };
    format!("{sign}£{}", terms::money::thousands(pounds))
}

/// "£41k" from ten thousand on, else as [`whole`]; for axes.
pub fn axis(amount: Pence) -> String {
    if amount.0 != 0 && amount.0 % 100_000 == 0 && amount.0.unsigned_abs() >= 1_000_000 {
        let sign = if amount.0 < 0 { "−" } else { "" };
        format!("{sign}£{}k", amount.0.unsigned_abs() / 100_000)
    } else {
        whole(amount)
    }
}

/// "£346 to £728".
pub fn range(low: Pence, high: Pence) -> String {
    format!("{} to {}", whole(low), whole(high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts() {
        assert_eq!(exact(Pence(41_200)), "£412.00");
        assert_eq!(whole(Pence(31_414)), "£314");
        assert_eq!(whole(Pence(-1_650)), "−£17");
        assert_eq!(whole(Pence(-49)), "£0");
        assert_eq!(whole(Pence(123_456_789)), "£1,234,568");
        assert_eq!(axis(Pence(4_000_000)), "£40k");
        assert_eq!(axis(Pence(0)), "£0");
        assert_eq!(axis(Pence(4_050_000)), "£40,500");
        assert_eq!(range(Pence(34_600), Pence(72_800)), "£346 to £728");
    }
}
