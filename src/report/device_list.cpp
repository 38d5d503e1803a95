#include "report/device_list.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

namespace proofwalk::report {

std::string devices_json(const std::vector<DeviceRow>& rows) {
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const auto& row : rows)
        list.push_back({{"name", row.name},
                        {"host_system", row.host_system},
                        {"inputs", row.inputs},
                        {"outputs", row.outputs},
                        {"rate_hz", row.rate_hz}});
    return nlohmann::ordered_json{{"format", "proofwalk.devices/1"}, {"devices", list}}.dump(
               2, ' ', false, nlohmann::json::error_handler_t::replace) +
           "\n";
}

std::string devices_text(const std::vector<DeviceRow>& rows) {
    std::size_t width = 6;
    for (const auto& row : rows) width = std::max(width, row.name.size());
    std::string text = fmt::format("{:<{}}  {:<12}  {:>6}  {:>7}  {:>7}\n", "device", width, "system", "inputs", "outputs", "Hz");
    for (const auto& row : rows)
        text += fmt::format("{:<{}}  {:<12}  {:>6}  {:>7}  {:>7.0f}\n", row.name, width, row.host_system, row.inputs, row.outputs,
                            row.rate_hz);
    return text;
}

}  // namespace proofwalk::report
