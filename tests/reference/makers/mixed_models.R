# Values of tests/reference/mixed_models.json that lmerTest gives, with its stopping rule tightened.
# Run by hand, from the root of the project: Rscript tests/reference/makers/mixed_models.R
# lme4's default rule leaves errors up to 1e-3 in the degrees of freedom near the boundary.
suppressMessages(library(lmerTest))
tight <- lmerControl(optimizer = "bobyqa", calc.derivs = FALSE,
                     optCtrl = list(rhobeg = 1e-2, rhoend = 1e-12, maxfun = 100000))
digits <- function(x) formatC(x, digits = 15, format = "g")
told <- function(name, formula, data) {
  fit <- suppressMessages(lmer(formula, data, control = tight))
  cat("##", name, "rows", nrow(data), "\n")
  print(as.data.frame(VarCorr(fit))[, c("grp", "vcov")], digits = 15)
  table <- coef(summary(fit, ddf = "Satterthwaite"))
  for (row in rownames(table)) cat(row, digits(table[row, 1:3]), "\n")
}
read <- function(name) read.csv(file.path("tests/reference/data", paste0(name, ".csv")), stringsAsFactors = TRUE)

machines <- read("machines"); machines$worker <- factor(machines$worker)
told("machines, workers fixed", score ~ worker + machine + (1 | worker:machine), machines)
fewer <- machines[-c(1, 2, 5, 14, 23, 24, 31, 40, 47, 54), ]
told("machines, ten scores left out", score ~ worker + machine + (1 | worker:machine), fewer)
oats <- read("oats")
told("oats, blocks fixed", yield ~ block + variety + nitrogen + (1 | block:variety), oats)
told("oats, twelve plots left out", yield ~ block + variety + nitrogen + (1 | block:variety),
     oats[-c(1, 6, 11, 16, 21, 26, 31, 36, 41, 46, 51, 56), ])
told("npk", yield ~ N * P * K + (1 | block), { d <- read("npk"); for (k in c("block", "N", "P", "K")) d[[k]] <- factor(d[[k]]); d })
told("penicillin, every seventh left out", diameter ~ 1 + (1 | plate) + (1 | sample), read("penicillin")[-seq(5, 144, 7), ])
