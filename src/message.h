#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#ifdef __clang__
#pragma clang diagnostic ignored "-Wmissing-field-initializers"
#endif

namespace lastroom {

/// Text that is not ours: a file's name, a mark in the maker's words, a rules file's advice, what the system answers.
/// It is data: it is shown as it is, in no language, and never looked into.
struct UserText {
  std::string bytes;
};

/// A number with the decimals that it is told with. Its unit is in the value's name.
struct Quantity {
  double value = 0.0;
  int decimals = 0;
};

/// With as many of `digits` as are not zeros at the end: 2.5, 262, 1e6 as 1000000.
Quantity in_digits(double value, int digits);

/// A fact that is to be told: a key of the catalogues (reports/words.*.xml) and what goes into its gaps. Only `report`
/// and `commands` turn it into words (words/words.h).
struct Message {
  struct Value;
  std::string key;
#ifdef __clang__  // which needs a value whole for the other
  std::vector<Value> values;
#else
  std::vector<Value> values = {};
#endif
  bool empty() const { return key.empty(); }
};

struct Message::Value {
  std::string name;  ///< of the gap: "zone", "toe", "room_mm", "file" ...
  std::variant<Quantity, std::uint64_t, UserText, Message> is;
};

inline Message own_text(std::string text) { return {"own_text", {{"text", UserText{std::move(text)}}}}; }

/// What is said about a file: `{file}` and more.
inline Message about_file(std::string key, std::string file, std::vector<Message::Value> more = {}) {
  Message message{std::move(key), {{"file", UserText{std::move(file)}}}};
  for (Message::Value& value : more) message.values.push_back(std::move(value));
  return message;
}

/// The sentence in English, for result.json and for what a terminal shows. The text of an empty message is empty.
std::string english(const Message& message);

}  // namespace lastroom
