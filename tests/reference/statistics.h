// Tails of the distributions that a comparison of two noisy measurements needs.
#pragma once

namespace undercap::reference {

// Chance that |t| is at least this, Student's t with 'freedom' degrees (need not be whole).
double student_two_sided(double t, double freedom);

// Chance that chi-square with 'freedom' degrees is at least this.
double chi_square_above(double x, double freedom);

// Chance that |z| is at least this, standard normal; and the z > 0 that has this chance.
double normal_two_sided(double z);
double normal_from_two_sided(double chance);

// Threshold for the smallest of 'count' chances such that a false alarm among all has the chance 'level'
// (Sidak 1967).
double sidak(double level, double count);

}  // namespace undercap::reference
