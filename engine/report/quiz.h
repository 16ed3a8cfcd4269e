// A sheet asked as a question: the same pictures without words, in an order that gives nothing away, and the
// sheet itself as the answer.
#pragma once

#include <vector>

#include "engine/report/contact_sheet.h"
#include "engine/report/page.h"

namespace undercap {

// Where cell 'order[k]' of a sheet stands as picture k of the question; the same seed gives the same order,
// which is not the sheet's own where there are three cells or more.
std::vector<std::size_t> quiz_order(std::size_t cells, unsigned seed);

// "A" for picture 0, "AA" after "Z".
std::string quiz_letter(std::size_t k);

// Two pages for the pictures of lay_out(sheet): the question, and the sheet with the letters in its names.
std::vector<Page> quiz_pages(const ContactSheet& sheet, unsigned seed, const Typeface& typeface);

}  // namespace undercap
