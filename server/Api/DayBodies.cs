using System.Runtime.CompilerServices;
using System.Text.Json;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Days;

namespace PavementWatch.Server.Api;

/// <summary>Days as they are sent, written once for all who ask: half of what a day costs that is kept. Each goes with its day.</summary>
internal sealed class DayBodies(IOptions<JsonOptions> options)
{
    private readonly ConditionalWeakTable<SpotDay, byte[]> _bodies = [];

    /// <summary>The day as it is sent.</summary>
    /// <param name="day">A day that is not changed any more; one with a walk is one person's, and is not kept.</param>
    public byte[] Of(SpotDay day) => day.Walk is null ? _bodies.GetValue(day, Written) : Written(day);

    private byte[] Written(SpotDay day) => JsonSerializer.SerializeToUtf8Bytes(SpotDayJson.Of(day), options.Value.SerializerOptions);
}
