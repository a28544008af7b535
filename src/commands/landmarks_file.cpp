#include "commands/landmarks_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "error.h"
#include "files/input_file.h"
#include "preparation/landmark_names.h"

namespace lastroom {
namespace {

/// A stranger's word, fit to stand in a message.
std::string on_one_line(std::string word) {
  constexpr std::size_t kMost = 40;
  for (char& c : word)
    if (c < ' ' || c == 127) c = '?';  // a byte over 127 is negative: no half characters either
  if (word.size() > kMost) word = word.substr(0, kMost) + "...";
  return word;
}

/// The maker's words for a spot, on one line. The JSON's reader let only whole characters (UTF-8) pass.
std::string words_on_one_line(std::string words) {
  constexpr std::size_t kMost = 60;
  for (char& c : words)
    if ((c >= 0 && c < ' ') || c == 127) c = ' ';
  if (words.size() <= kMost) return words;
  std::size_t end = kMost;
  while ((static_cast<unsigned char>(words[end]) & 0xC0) == 0x80) --end;  // not in the middle of a character
  return words.substr(0, end) + "...";
}

std::optional<Vec3> point_of(const nlohmann::json& value) {
  constexpr double kFarthest = 1e6;  // no scan lies a million of its units from its origin (our choice)
  const auto is_coordinate = [](const nlohmann::json& v) {
    return v.is_number() && std::abs(v.get<double>()) <= kFarthest;
  };
  const bool is_point = value.is_array() && value.size() == 3 && std::all_of(value.begin(), value.end(), is_coordinate);
  return is_point ? std::optional(Vec3(value[0], value[1], value[2])) : std::nullopt;
}

/// A list of spots, each a point or {"at": point, "what": "bunion"}.
std::vector<MarkedSpot> marked_spots(const nlohmann::json& list, const std::string& name) {
  constexpr std::size_t kMost = 50;  // more is no marking but a scan
  if (!list.is_array() || list.size() > kMost)
    throw InputError(fmt::format("{}: 'never_press' must be a list of at most {} points [x, y, z]", name, kMost));
  std::vector<MarkedSpot> spots;
  for (const nlohmann::json& item : list) {
    const bool is_object = item.is_object() && item.contains("at") && item.size() == 1 + item.count("what");
    const std::optional<Vec3> at = point_of(is_object ? item["at"] : item);
    const bool has_words = is_object && item.contains("what");
    if (!at || (has_words && !item["what"].is_string()))
      throw InputError(
          fmt::format("{}: entry {} of 'never_press' must be [x, y, z] or {{\"at\": [x, y, z], \"what\": \"bunion\"}}",
                      name, spots.size() + 1));
    spots.push_back({*at, has_words ? words_on_one_line(item["what"].get<std::string>()) : ""});
  }
  return spots;
}

FileBytes landmarks_bytes(const std::filesystem::path& file) {
  constexpr std::uint64_t kLargest = 100'000;  // eight points take some 500 bytes
  std::error_code error;
  const std::uintmax_t size = std::filesystem::file_size(file, error);
  if (!error && size > kLargest)
    throw InputError(
        fmt::format("{}: a landmarks file has at most {} bytes; check the name", shown_name(file), kLargest));
  return read_bytes(file, kLargest);
}

nlohmann::json json_of(const FileBytes& bytes) {
  return nlohmann::json::parse(bytes.data.get(), bytes.data.get() + bytes.size, nullptr, false);
}

HandLandmarks landmarks_in(const nlohmann::json& points, const std::string& name) {
  if (!points.is_object())
    throw InputError(fmt::format("{}: not a JSON object; write {{\"first_joint\": [x, y, z], ...}}", name));

  HandLandmarks found;
  for (const auto& [key, value] : points.items()) {
    if (key == "never_press") {
      found.never_press = marked_spots(value, name);
      continue;
    }
    std::optional<Vec3>* const place = landmark_called(found, key);
    if (place == nullptr)
      throw InputError(fmt::format("{}: no landmark is called '{}'; see check --help", name, on_one_line(key)));
    const std::optional<Vec3> point = point_of(value);
    if (!point)
      throw InputError(
          fmt::format("{}: '{}' must be [x, y, z] in the scan file's unit, each below a million", name, key));
    *place = *point;
  }
  return found;
}

}  // namespace

HandLandmarks read_landmarks(const std::filesystem::path& file) {
  return landmarks_in(json_of(landmarks_bytes(file)), shown_name(file));
}

HandLandmarks read_landmarks(const std::filesystem::path& file, Side side) {
  const std::string name = shown_name(file);
  const nlohmann::json feet = json_of(landmarks_bytes(file));
  for (const auto& [key, value] : feet.items())
    if (!feet.is_object() || (key != "left" && key != "right"))
      throw InputError(
          fmt::format("{}: of two feet, the points of each stand under its side: write {{\"left\": "
                      "{{\"first_joint\": [x, y, z], ...}}, \"right\": {{...}}}}",
                      name));
  const auto found = feet.find(side_name(side));
  return found == feet.end() ? HandLandmarks{} : landmarks_in(*found, fmt::format("{}, {}", name, side_name(side)));
}

HandLandmarks parse_landmarks(std::string_view json, const std::string& name) {
  return landmarks_in(nlohmann::json::parse(json, nullptr, false), name);
}

}  // namespace lastroom
