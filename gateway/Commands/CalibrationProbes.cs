using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sizing;

namespace PavementWatch.Gateway.Commands;

/// <summary>This gateway's probes for <c>calibrate</c>.</summary>
internal static class CalibrationProbes
{
    public static CalibrationBench Open(GivenSettings settings)
    {
        // The host lives as long as the program: its probes belong to it, and the bench closes them.
        var services = settings.BuildProbes().Services;
        return new CalibrationBench(
            services.GetRequiredService<IOptions<ProbeTable>>().Value, services.GetRequiredService<IProbes>(), services.GetRequiredService<TimeProvider>());
    }
}
