#pragma once

#include "report/page.h"

namespace lastroom {

/// The few places that a client is told of, gravest first.
std::vector<Place> places_to_show(const Page& facts);
/// Where it is, as a client would say it.
std::string plain_subject(const Words& words, const Finding& finding);
/// What is the matter there, in a sentence or two without a trade word.
std::string in_plain_words(const Page& facts, const Finding& finding);

}  // namespace lastroom
