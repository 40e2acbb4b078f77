namespace PavementWatch.Gateway.Settings;

internal static partial class Log
{
    [LoggerMessage(60, LogLevel.Information, "settings {Version} of the server are in use")]
    public static partial void SettingsTaken(this ILogger logger, string version);

    [LoggerMessage(61, LogLevel.Warning, "settings of the server are not used, the last good ones stay: {Fault}")]
    public static partial void SettingsRefused(this ILogger logger, string fault);

    [LoggerMessage(62, LogLevel.Warning, "{Fault}")]
    public static partial void SettingsNotKept(this ILogger logger, string fault);

    [LoggerMessage(65, LogLevel.Information, "{File} is as the server's settings are, at last")]
    public static partial void SettingsKept(this ILogger logger, string file);

    [LoggerMessage(64, LogLevel.Error, "{Fault}")]
    public static partial void KeptSettingsUnreadable(this ILogger logger, string fault);

    [LoggerMessage(66, LogLevel.Warning, "{Spot}: the emissivity {Own} in the gateway's own settings was given for '{OwnSurface}'; the server says '{Surface}', and {Used} is used. Set the emissivity of this ground on the spot's page, or correct the gateway's settings")]
    public static partial void OwnEmissivityPassedOver(this ILogger logger, string spot, double own, string ownSurface, string surface, double used);

    [LoggerMessage(63, LogLevel.Information, "the server took its settings away; the gateway's own are in use")]
    public static partial void SettingsTakenAway(this ILogger logger);
}
