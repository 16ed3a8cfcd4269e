// A chance as a z, and what the smallest of many chances is held against.
#pragma once

namespace undercap::reference {

// Chance that |z| is at least this, standard normal; and the z > 0 that has this chance.
double normal_two_sided(double z);
double normal_from_two_sided(double chance);

// Threshold for the smallest of 'count' chances such that a false alarm among all has the chance 'level'
// (Sidak 1967, JASA 62).
double sidak(double level, double count);

}  // namespace undercap::reference
