#include "engine/measure/reading_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace undercap {

Reading exact(Under under, std::string name, double value, std::string unit, std::string note) {
  return {under, std::move(name), value, std::move(unit), std::nullopt, std::move(note)};
}

Reading nothing(Under under, std::string name, std::string unit, std::string note) {
  return {under, std::move(name), std::monostate{}, std::move(unit), std::nullopt, std::move(note)};
}

std::string doubt_of(const Estimate& estimate) {
  return estimate.doubtful
             ? fmt::format("(?) one of {} batches carries over a quarter of it: {}", batch_count, take_more)
             : std::string();
}

Reading measured(Under under, std::string name, const std::optional<Estimate>& estimate, std::string unit,
                 const std::string& why_not, const std::string& note) {
  if (!estimate) return nothing(under, std::move(name), std::move(unit), why_not);
  std::string notes = doubt_of(*estimate);
  if (!note.empty()) notes += (notes.empty() ? "" : "; ") + note;
  if (estimate->freedom < whole_freedom)
    notes += fmt::format("{}95 % within {:.2f} standard errors", notes.empty() ? "" : "; ",
                         student_t_95(estimate->freedom));
  return {under, std::move(name), estimate->value, std::move(unit), estimate->se, std::move(notes)};
}

Reading measured(Under under, const std::string& name, const std::optional<Figure>& figure,
                 const std::string& unit, const std::string& why_not, std::string note) {
  if (!figure) return nothing(under, name, unit, why_not);
  if (std::abs(figure->noise_bias) > figure->estimate.se)
    note += fmt::format("; noise shifts it by about {:+.2g}: {}", figure->noise_bias, take_more);
  return measured(under, name, figure->estimate, unit, {}, note);
}

bool drowns_in_noise(const Figure& stops) { return stops.estimate.se > 1 / (5 * std::numbers::ln2); }

std::string why_missing(const RegionSums& sums, const Mix& mix, const std::string& name) {
  const auto mean = mean_luminance(sums, mix);
  if (!mean) return name.empty() ? "not seen in the picture" : fmt::format("no {} is seen", name);
  const std::string of = name.empty() ? "" : name + ": ";
  if (mean->freedom < least_freedom)
    return fmt::format("{}seen by {:.0f} samples, too few to tell: {}", of, sums.samples(), take_more);
  if (mean->value <= 0) return of + "black: no light comes from it";
  if (!mean->above_noise())
    return fmt::format("{}too dark to tell from black (under 5 standard errors): {}", of, take_more);
  return {};
}

std::string first_of(std::string a, std::string b) { return a.empty() ? std::move(b) : std::move(a); }

Reading stops_reading(Under under, std::string name, const RegionSums& a, const Mix& mix_a,
                      const RegionSums& b, const Mix& mix_b, const std::string& why_not) {
  return why_not.empty()
             ? measured(under, std::move(name), stops_between(a, mix_a, b, mix_b), "stops", why_not)
             : nothing(under, std::move(name), "stops", why_not);
}

std::vector<Address> reported_addresses(const World& world) {
  std::vector<Address> addresses;
  const auto add = [&](std::uint32_t index) {
    const WorldPart& part = world.parts[index];
    const Address address{Address::Of::prop, part.prop, 0, part.part};
    if (std::find(addresses.begin(), addresses.end(), address) == addresses.end())
      addresses.push_back(address);
  };
  for (const std::uint32_t part : world.subject) add(part);
  if (world.backdrop)
    for (const std::uint32_t part : *world.backdrop) add(part);
  if (world.scene.exposure.meter_on)
    for (const std::uint32_t part : parts_of(world, *world.scene.exposure.meter_on)) add(part);
  return addresses;
}

RegionSums subject_parts_named(const Evidence& e, std::string_view name) {
  RegionSums sums(e.world.groups.size());
  for (const std::uint32_t part : e.world.subject)
    if (e.world.parts[part].part == name) sums.merge(e.survey.part[part]);
  return sums;
}

}  // namespace undercap
