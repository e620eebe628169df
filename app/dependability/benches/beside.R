# The fits of `scale` beside general R packages of Debian, on the same fleets.
#
# usage: Rscript beside.R FOLDER [UNITS]   (FOLDER filled by `cargo bench -p dependability --bench scale -- FOLDER`; Debian's
# r-base-core, r-cran-mass and r-cran-survival). Each package at each size in a process of its own, so that its most memory is
# its own; what takes more than two minutes is stopped and told.
#
# 1. MASS::glm.nb: failures ~ negative binomial with the exposure as offset, beta profiled over (the same likelihood: given
#    beta a unit's count is negative binomial, and its ages add (beta - 1) sum ln t - n ln A).
# 2. stats::optim: the likelihood written out in vectors, BFGS with numerical gradient.
t0 <- 10
limit <- 120

exposure <- function(a, b, beta) t0 / beta * ((b / t0)^beta - (a / t0)^beta)

by_mass <- function(d) {
  profile <- function(ln_beta) {
    area <- exposure(d$from, d$until, exp(ln_beta))
    fit <- suppressWarnings(MASS::glm.nb(failures ~ offset(log(area)), data = cbind(d, area)))
    ll <- as.numeric(logLik(fit)) + sum(lgamma(d$failures + 1)) - sum(d$failures * log(area))
    c(ll + (exp(ln_beta) - 1) * sum(d$sum_ln_age), 1 / fit$theta)
  }
  found <- optimize(function(x) profile(x)[1], c(-0.5, 1.5), maximum = TRUE, tol = 1e-5)
  best <- profile(found$maximum)
  c(exp(found$maximum), best[2], best[1])
}

by_optim <- function(d) {
  n <- d$failures
  above <- rev(cumsum(rev(tabulate(n + 1))))
  k <- seq_len(max(length(above) - 2, 0))
  minus <- function(p) {
    theta <- exp(p[3])
    mu <- exp(p[1]) * exposure(d$from, d$until, exp(p[2]))
    ll <- sum(n) * p[1] + (exp(p[2]) - 1) * sum(d$sum_ln_age) + sum(above[k + 2] * log1p(k * theta))
    -(ll - sum((n + 1 / theta) * log1p(theta * mu)))
  }
  start <- c(log(sum(n) / sum(d$until - d$from)), 0.2, log(0.5))
  found <- optim(start, minus, method = "BFGS", control = list(reltol = 1e-14, maxit = 500))
  c(exp(found$par[2]), exp(found$par[3]), -found$value)
}

peak <- function() {
  line <- grep("^VmHWM", readLines("/proc/self/status"), value = TRUE)
  as.numeric(gsub("[^0-9]", "", line)) / 1024
}

one <- function(file, package) {
  d <- read.csv(file)
  fit <- list(MASS = by_mass, optim = by_optim)[[package]]
  setTimeLimit(elapsed = limit)
  took <- system.time(found <- tryCatch(fit(d), error = conditionMessage))[["elapsed"]]
  if (is.character(found)) {
    cat(sprintf("| %d | %s | %s | | | %.0f |\n", nrow(d), package, found, peak()))
  } else {
    cat(sprintf("| %d | %s | %.2f | %.4f, %.4f | %.3f | %.0f |\n", nrow(d), package, took, found[1], found[2], found[3], peak()))
  }
}

given <- commandArgs(trailingOnly = TRUE)
if (length(given) == 3 && given[3] %in% c("MASS", "optim")) {
  one(given[2], given[3])
} else {
  script <- sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE))
  cat("| units | package | fit, s | beta, theta | log-likelihood | most memory, MiB |\n|---|---|---|---|---|---|\n")
  sizes <- if (length(given) > 1) given[2] else c("1000", "10000", "100000", "1000000")
  for (units in sizes) for (package in c("MASS", "optim")) {
    file <- file.path(given[1], sprintf("fleet_%s.csv", units))
    if (file.exists(file)) system2("Rscript", c(shQuote(script), "one", shQuote(file), package))
  }
}
