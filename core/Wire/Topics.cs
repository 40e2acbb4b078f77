using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>The topics, version 1: <c>pavement/v1/{gateway}/readings|status|settings</c>.</summary>
public static class Topics
{
    /// <summary>Subscription to the readings of every gateway.</summary>
    public const string ReadingsFilter = Root + "+" + ReadingsEnd;

    /// <summary>Subscription to the status of every gateway.</summary>
    public const string StatusFilter = Root + "+" + StatusEnd;

    private const string Root = "pavement/v1/";
    private const string ReadingsEnd = "/readings";
    private const string StatusEnd = "/status";
    private const string SettingsEnd = "/settings";

    /// <summary>Where a gateway publishes its readings.</summary>
    /// <param name="gateway">The gateway; not <c>default</c>.</param>
    /// <returns>The topic.</returns>
    /// <exception cref="ArgumentException">The gateway is <c>default</c>.</exception>
    public static string Readings(GatewayId gateway) => Of(gateway, ReadingsEnd);

    /// <summary>Where a gateway says that it is there, and its will that it is not.</summary>
    /// <param name="gateway">The gateway; not <c>default</c>.</param>
    /// <returns>The topic.</returns>
    /// <exception cref="ArgumentException">The gateway is <c>default</c>.</exception>
    public static string Status(GatewayId gateway) => Of(gateway, StatusEnd);

    /// <summary>Where a gateway reads its settings.</summary>
    /// <param name="gateway">The gateway; not <c>default</c>.</param>
    /// <returns>The topic.</returns>
    /// <exception cref="ArgumentException">The gateway is <c>default</c>.</exception>
    public static string Settings(GatewayId gateway) => Of(gateway, SettingsEnd);

    /// <summary>Takes a topic apart, if it is one of ours. A filter (with <c>+</c> or <c>#</c>) is not a topic.</summary>
    /// <param name="topic">The topic a message came in on.</param>
    /// <param name="gateway">Whose topic it is, or <c>default</c>.</param>
    /// <param name="kind">What it carries, or <see cref="TopicKind.Unknown"/>.</param>
    /// <returns>Whether the topic is one of ours.</returns>
    public static bool TryParse(string? topic, out GatewayId gateway, out TopicKind kind)
    {
        gateway = default;
        kind = TopicKind.Unknown;
        if (topic is null || !topic.StartsWith(Root, StringComparison.Ordinal))
            return false;

        var end = topic.IndexOf('/', Root.Length);
        if (end < 0 || !GatewayId.TryParse(topic[Root.Length..end], out var found))
            return false;

        var carried = topic[end..] switch
        {
            ReadingsEnd => TopicKind.Readings,
            StatusEnd => TopicKind.Status,
            SettingsEnd => TopicKind.Settings,
            _ => TopicKind.Unknown,
        };
        if (carried == TopicKind.Unknown)
            return false;

        (gateway, kind) = (found, carried);
        return true;
    }

    private static string Of(GatewayId gateway, string end) =>
        gateway.Value.Length > 0
            ? Root + gateway.Value + end
            : throw new ArgumentException("a topic needs a gateway's name, and this one has none", nameof(gateway));
}
