namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>Keys of RFC 8291, appendix A: valid points on the curve, secret to nobody.</summary>
internal static class TestKeys
{
    /// <summary>The application server's public key there, which serves here as the VAPID key.</summary>
    public const string ServerPublic =
        "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8";

    /// <summary>The user agent's public key there.</summary>
    public const string BrowserPublic =
        "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4";

    /// <summary>The authentication secret there.</summary>
    public const string BrowserAuth = "BTBZMqHH6r4Tts7J_aSIgg";
}
