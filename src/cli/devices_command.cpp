#include <CLI/CLI.hpp>
#include <memory>

#include "capture/device.hpp"
#include "cli/commands.hpp"
#include "report/device_list.hpp"

namespace proofwalk::cli {

void add_devices_command(CLI::App& app, Console& console, Action& action) {
    auto json = std::make_shared<bool>(false);
    CLI::App* command = app.add_subcommand("devices", "Audio devices of this machine, by the names that take understands");
    command->add_flag("--json", *json, "for programs");
    command->footer("Example: proofwalk devices");
    command->callback([=, &console, &action] {
        action = [=, &console] {
            const auto devices = capture::list_devices();
            if (!devices) return console.tell(devices.error());
            std::vector<report::DeviceRow> rows;
            for (const auto& device : *devices)
                rows.push_back({device.name, device.host_system, device.inputs, device.outputs, device.rate_hz});
            console.out() << (*json ? report::devices_json(rows) : report::devices_text(rows));
            if (rows.empty() && !*json) console.note("no audio device found; practise with: proofwalk rehearse PLAN --log LOG");
            return status_done;
        };
    });
}

}  // namespace proofwalk::cli
