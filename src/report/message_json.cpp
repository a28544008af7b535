#include "report/message_json.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

struct AsJson {
  Json operator()(const Quantity& quantity) const {
    if (!std::isfinite(quantity.value)) return nullptr;
    const double rounded = std::round(quantity.value * 1e4) / 1e4 + 0.0;  // + 0.0 turns -0 into 0
    return {{"number", rounded}, {"decimals", quantity.decimals}};
  }
  Json operator()(std::uint64_t count) const { return count; }
  Json operator()(const UserText& text) const { return {{"text", text.bytes}}; }
  Json operator()(const Message& part) const { return message_json(part); }
};

constexpr int kDeepest = 8;  ///< messages within messages

Message message_at(const Json& json, int deepest);

decltype(Message::Value::is) value_from_json(const Json& json, int deepest) {
  if (json.is_number()) return json.get<std::uint64_t>();
  if (json.is_object() && json.contains("number"))
    return Quantity{json.at("number").get<double>(), std::clamp(json.at("decimals").get<int>(), 0, 12)};
  if (json.is_object() && json.contains("text")) return UserText{json.at("text").get<std::string>()};
  if (json.is_object() && deepest > 0) return message_at(json, deepest - 1);
  return Message{};
}

Message message_at(const Json& json, int deepest) {
  Message message;
  if (json.is_null()) return message;
  message.key = json.at("key").get<std::string>();
  for (const auto& [name, value] : json.at("values").items())
    message.values.push_back({name, value_from_json(value, deepest)});
  return message;
}

}  // namespace

Json message_json(const Message& message) {
  if (message.empty()) return nullptr;
  Json values = Json::object();
  for (const Message::Value& value : message.values) values[value.name] = std::visit(AsJson(), value.is);
  return {{"key", message.key}, {"values", std::move(values)}};
}

Json message_json(const std::vector<Message>& messages) {
  Json list = Json::array();
  for (const Message& message : messages) list.push_back(message_json(message));
  return list;
}

Message message_from_json(const Json& json) { return message_at(json, kDeepest); }

Json sentences(const std::vector<Message>& messages) {
  Json list = Json::array();
  for (const Message& message : messages) list.push_back(english(message));
  return list;
}

}  // namespace lastroom
