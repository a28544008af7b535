#pragma once

#include "report/plain_words.h"
#include "report/png.h"

namespace lastroom {

// What the client's part of a report is put together from, for one foot or for both.

/// A line of the letterhead; foreign text may hold any bytes. An empty one is left out.
struct HeadEntry {
  std::string name, value;
  bool foreign = false;
};
/// A day as the page's language writes it; what is no day is foreign.
HeadEntry date_entry(const Words& words, const std::string& iso);
void add_letterhead(pugi::xml_node parent, const Words& words, const std::vector<HeadEntry>& entries,
                    const char* page_name = "page.name");
/// That foot or last may not be what it was given as; nothing when neither is doubted.
void add_doubts(pugi::xml_node parent, const Words& words, const Fitting& fitting);
/// Which limits were used for this wearer, what a report can't know, and whom to see; `reason` as
/// AssessmentSettings::wearer_reason.
void add_first_caution(pugi::xml_node parent, const Words& words, Wearer wearer, const Message& reason = {});
/// That other limits than the built-in ones were used, and how many of them are laxer; nothing when built in.
void add_own_rules(pugi::xml_node parent, const Words& words, const RulesHead& rules);
/// What numbers and colours mean in that picture.
std::string figure_key(const Words& words);
/// The foot in its last, the places told of in colour and numbered; its key under it, or elsewhere.
void add_foot_from_above(pugi::xml_node parent, const Page& facts, bool with_key = true);
/// The same picture, without numbers, for what shows no drawing: half a millimetre a pixel.
Picture foot_from_above(const Page& facts);
/// The page with at most three places, which plain words can tell of, numbered from 1: nothing for the maker among
/// them.
Page for_client(Page page);
/// The gravest places in plain words, under a heading of this level ("h2").
void add_places(pugi::xml_node parent, const Page& facts, const char* heading_tag);
void add_next_steps(pugi::xml_node parent, const Words& words, Tidings tidings, Wearer wearer);

}  // namespace lastroom
