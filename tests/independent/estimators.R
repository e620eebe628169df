# Known answers made on the spot by an independent general library: R's survival package (Debian: r-cran-survival).
# usage: Rscript estimators.R DATA OUT. Reads histories from DATA, writes OUT/cases.json and OUT/data in the format of the
# reference runner, which then judges the product's own estimators by it:
#   Weibull life by maximum likelihood (survreg), Kaplan-Meier and Nelson-Aalen with late entry (survfit),
#   mean cumulative function with late entry, gaps and robust variance (survfit with id).
suppressPackageStartupMessages(library(survival))
args <- commandArgs(trailingOnly = TRUE)
data <- args[1]
out <- args[2]
dir.create(file.path(out, "data"), recursive = TRUE, showWarnings = FALSE)
library_words <- sprintf("R survival %s, run now", packageVersion("survival"))

number <- function(x) ifelse(is.na(x), "null", sprintf("%.17g", x))
rows <- function(m) paste0("[", paste(apply(m, 1, function(r) paste0("[", paste(number(r), collapse = ","), "]")), collapse = ","), "]")
names_of <- function(words) paste0("[", paste0("\"", words, "\"", collapse = ","), "]")
one_case <- function(id, family, files, inputs, expected, tolerance)
  sprintf("{\"id\":\"%s\",\"family\":\"%s\",\"files\":%s,\"inputs\":%s,\"expected\":%s,\"tolerance\":%s,\"source\":\"%s\"}",
          id, family, files, inputs, expected, tolerance, library_words)
taken <- function(file) file.copy(file.path(data, file), file.path(out, "data", file), overwrite = TRUE)

# Failed 'e' or running 'r', right censored, no late entry: generator fans, bearings, and 300 drawn here.
weibull <- function(id, file) {
  d <- read.csv(file.path(out, "data", file))
  d <- d[rep(seq_len(nrow(d)), d$count), ]
  fit <- survreg(Surv(lo, kind == "e") ~ 1, data = d, dist = "weibull", control = survreg.control(rel.tolerance = 1e-12, maxiter = 200))
  v <- vcov(fit)
  expected <- sprintf("{\"beta\":%s,\"eta\":%s,\"loglik\":%s,\"se_log_beta\":%s,\"se_log_eta\":%s,\"cov_log_eta_log_beta\":%s,\"quantile\":[%s]}",
    number(1 / fit$scale), number(exp(coef(fit))), number(fit$loglik[2]), number(sqrt(v[2, 2])), number(sqrt(v[1, 1])), number(-v[1, 2]),
    paste(number(predict(fit, d[1, ], type = "quantile", p = c(0.1, 0.5, 0.9))), collapse = ","))
  one_case(id, "weibull-life", sprintf("{\"lives\":\"data/%s\"}", file), "{\"covariates\":[],\"quantiles\":[0.1,0.5,0.9]}", expected,
    "{\"default\":{\"rel\":1e-6},\"loglik\":{\"abs\":1e-6},\"se_log_beta\":{\"rel\":1e-4},\"se_log_eta\":{\"rel\":1e-4},\"cov_log_eta_log_beta\":{\"rel\":1e-3}}")
}

kaplan_meier <- function(id, file, from_age) {
  d <- read.csv(file.path(data, file))
  d <- d[d$lo > from_age, ]
  curve <- survfit(Surv(pmax(entry, from_age), lo, kind == "e") ~ 1, data = d)
  at <- curve$n.event > 0
  m <- cbind(curve$time, curve$n.risk, curve$n.event, curve$surv, curve$surv * curve$std.err, curve$cumhaz)[at, , drop = FALSE]
  expected <- sprintf("{\"columns\":%s,\"rows\":%s}", names_of(c("time", "at_risk", "events", "S", "se_S", "cum_hazard")), rows(m))
  one_case(id, "km-left-truncated", sprintf("{\"lives\":\"data/%s\"}", file), sprintf("{\"from_age\":%s}", number(from_age)), expected,
    "{\"default\":{\"rel\":1e-10,\"abs\":1e-12},\"time\":{\"abs\":0},\"at_risk\":{\"abs\":0},\"events\":{\"abs\":0}}")
}

mean_cumulative <- function(id, name) {
  windows <- read.csv(file.path(data, paste0(name, "_windows.csv")))
  events <- read.csv(file.path(data, paste0(name, "_events.csv")))
  # survfit cannot hold two events of one unit at one time: the second is left out, for both.
  events <- events[!duplicated(events[, c("unit", "time")]), ]
  write.csv(events, file.path(out, "data", paste0(name, "_events.csv")), row.names = FALSE, quote = FALSE)
  # One row a stretch between a window's start, its events and its end.
  pieces <- do.call(rbind, lapply(seq_len(nrow(windows)), function(i) {
    w <- windows[i, ]
    t <- sort(events$time[events$unit == w$unit & events$time > w$start & events$time <= w$end])
    data.frame(unit = w$unit, start = c(w$start, t), stop = c(t, w$end), event = c(rep(1, length(t)), 0))
  }))
  pieces <- pieces[pieces$stop > pieces$start, ]
  curve <- survfit(Surv(start, stop, event) ~ 1, data = pieces, id = unit, robust = TRUE)
  at <- curve$n.event > 0
  m <- cbind(curve$time, curve$n.risk, curve$cumhaz, curve$std.chaz)[at, , drop = FALSE]
  # Where the risk set is below 5 the curve is not begun (FORECAST 8): rows are looked up by their age.
  table <- sprintf("{\"columns\":%s,\"rows\":%s}", names_of(c("time", "at_risk", "mcf", "se_robust")), rows(m))
  one_case(id, "mcf", sprintf("{\"windows\":\"data/%s_windows.csv\",\"events\":\"data/%s_events.csv\"}", name, name), "{}",
    sprintf("{\"mcf_count\":%s}", table),
    "{\"default\":{\"rel\":1e-9,\"abs\":1e-12},\"time\":{\"abs\":0},\"at_risk\":{\"abs\":0}}")
}

for (file in c("genfan.csv", "lzbearing.csv", "km_channing_women.csv", "valve_seat_windows.csv", "valve_seat_events.csv", "mcf_gaps_windows.csv", "mcf_gaps_events.csv"))
  if (!taken(file)) stop(paste(file, "is not in", data))
set.seed(20261129)
life <- rweibull(300, 2.2, 14)
limit <- runif(300, 2, 25)
drawn <- data.frame(id = 1:300, entry = 0, lo = pmin(life, limit), hi = pmin(life, limit), kind = ifelse(life <= limit, "e", "r"), count = 1)
drawn$lo <- signif(drawn$lo, 12)
drawn$hi <- drawn$lo
write.csv(format(drawn, digits = 15, trim = TRUE), file.path(out, "data", "drawn.csv"), row.names = FALSE, quote = FALSE)

cases <- c(weibull("independent-genfan", "genfan.csv"), weibull("independent-bearings", "lzbearing.csv"), weibull("independent-drawn", "drawn.csv"),
  kaplan_meier("independent-channing", "km_channing_women.csv", 838), mean_cumulative("independent-valve-seats", "valve_seat"),
  mean_cumulative("independent-gaps", "mcf_gaps"))
writeLines(sprintf("{\"schema\":\"reliability-cases-2\",\"cases\":[\n%s\n]}", paste(cases, collapse = ",\n")), file.path(out, "cases.json"))
cat(library_words, ":", length(cases), "cases\n")
