#pragma once

#include "report/page.h"

namespace lastroom {

/// What a report says first, gravest last. The verdict watch is told in three ways, by what is to be watched.
enum class Tidings {
  clear,
  facts,  ///< only measures, or what is to be kept in mind about wearer and scan
  slack,  ///< nothing worse than too much room
  watch,  ///< a room near its limit
  pinch,
  none
};
Tidings tidings_of(const Fitting& fitting);
/// End of the keys "headline.", "lead.", "next." and "pair.headline.".
std::string_view tidings_name(Tidings tidings);

/// That these are not the built-in rules, by name, and how many of their limits are laxer.
Message own_rules(const RulesHead& rules);

/// By which limits this wearer was judged, and why; nothing for a standard one.
Message about_wearer(Wearer wearer, const Message& reason);
/// What every page says before anything else: what a report can't know, and who goes to a professional first.
std::string first_caution(const Words& words, Wearer wearer);
/// "What happens next", in order: for who is at risk, or may be, the professional comes first.
std::vector<std::string> next_steps(const Words& words, Tidings tidings, Wearer wearer);

/// The few places that a client is told of, gravest first.
std::vector<Place> places_to_show(const Page& facts);
/// Where it is, as a client would say it.
std::string plain_subject(const Words& words, const Finding& finding);
/// Whether there is a sentence without a trade word for it.
bool has_plain_words(const Words& words, const Finding& finding);
/// What is the matter there, in a sentence or two without a trade word.
std::string in_plain_words(const Page& facts, const Finding& finding);

}  // namespace lastroom
