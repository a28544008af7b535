#pragma once

#include <nlohmann/json.hpp>

#include "message.h"

namespace lastroom {

/// {"key": ..., "values": {...}}: what result.json holds beside each sentence. Null for an empty message.
nlohmann::ordered_json message_json(const Message& message);
nlohmann::ordered_json message_json(const std::vector<Message>& messages);
/// The other way round. Throws nlohmann::json::exception when it is none.
Message message_from_json(const nlohmann::ordered_json& json);

/// In English, as result.json has them.
nlohmann::ordered_json sentences(const std::vector<Message>& messages);

}  // namespace lastroom
