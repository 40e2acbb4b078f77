using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Gateways;

internal static partial class Log
{
    [LoggerMessage(LogLevel.Information, "enrolment code for gateway {Gateway} made, good until {ExpiresAt}")]
    public static partial void CodeMade(this ILogger logger, GatewayId gateway, DateTimeOffset expiresAt);

    [LoggerMessage(LogLevel.Information, "gateway {Gateway} enrolled; its earlier password no longer signs in")]
    public static partial void Enrolled(this ILogger logger, GatewayId gateway);

    [LoggerMessage(LogLevel.Information, "{Moved}")]
    public static partial void SpotMoved(this ILogger logger, MovedSpot moved);

    [LoggerMessage(LogLevel.Warning, "the enrolment code of gateway {Gateway} was brought again, {Uses} times in all; if that was not you, make a new code and enrol again")]
    public static partial void CodeAgain(this ILogger logger, string gateway, int uses);

    [LoggerMessage(LogLevel.Information, "settings {Version} left for gateway {Gateway}")]
    public static partial void SettingsSent(this ILogger logger, string version, GatewayId gateway);

    [LoggerMessage(LogLevel.Warning, "settings for gateway {Gateway} could not be left at the broker; trying again within a minute: {Detail}")]
    public static partial void SettingsNotSent(this ILogger logger, GatewayId gateway, string detail);

    [LoggerMessage(LogLevel.Warning, "gateway {Gateway}: what was taken from it could not be ended at the broker; trying again within seconds: {Detail}")]
    public static partial void RightsNotEnforced(this ILogger logger, GatewayId gateway, string detail);

    [LoggerMessage(LogLevel.Error, "a look for spots without a probe failed; the next minute tries again")]
    public static partial void ProbesNotLookedAt(this ILogger logger, Exception exception);

    [LoggerMessage(LogLevel.Error, "a look for what infrared probes see failed; the next minute tries again")]
    public static partial void BandsNotLookedAt(this ILogger logger, Exception exception);

    [LoggerMessage(LogLevel.Error, "a look for gateways that are off and spots that are silent failed; the next minute tries again")]
    public static partial void GatewaysNotLookedAt(this ILogger logger, Exception exception);

    [LoggerMessage(LogLevel.Warning, "the gateways' rights could not be read from the registry; trying again within seconds: {Detail}")]
    public static partial void RightsNotRead(this ILogger logger, string detail);
}
