#include "engine/report/quiz.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <random>

namespace undercap {

std::vector<std::size_t> quiz_order(std::size_t cells, unsigned seed) {
  std::vector<std::size_t> order(cells);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::mt19937 random(seed);
  // Fisher and Yates, whose bits std::shuffle leaves to the library.
  do {
    for (std::size_t k = cells; k > 1; --k) std::swap(order[k - 1], order[random() % k]);
  } while (cells > 2 && std::is_sorted(order.begin(), order.end()));
  return order;
}

std::string quiz_letter(std::size_t k) {
  std::string letter(1, static_cast<char>('A' + k % 26));
  return k < 26 ? letter : quiz_letter(k / 26 - 1) + letter;
}

std::vector<Page> quiz_pages(const ContactSheet& sheet, unsigned seed, const Typeface& typeface) {
  const std::size_t count = sheet.cells.size();
  const std::vector<std::size_t> order = quiz_order(count, seed);
  ContactSheet question = sheet, answer = sheet;
  std::vector<std::string> names;
  for (const SheetCell& cell : sheet.cells) names.push_back(cell.name);
  question.under_title = fmt::format("Which is which? {}", fmt::join(names, "; "));
  question.figure_aspect = 0;
  // The small lines may tell; who made it stays.
  if (question.small.size() > 1) question.small.erase(question.small.begin(), question.small.end() - 1);
  for (std::size_t k = 0; k < count; ++k) {
    question.cells[k] = sheet.cells[order[k]];
    question.cells[k].name = quiz_letter(k);
    question.cells[k].rows.clear();
    answer.cells[order[k]].name = fmt::format("{}: {}", quiz_letter(k), sheet.cells[order[k]].name);
  }
  std::vector<Page> pages{lay_out(question, typeface), lay_out(answer, typeface)};
  // All cells have a detail or none has.
  for (PagePicture& picture : pages.front().pictures)
    picture.picture = picture.picture / count * count + order[picture.picture % count];
  return pages;
}

}  // namespace undercap
