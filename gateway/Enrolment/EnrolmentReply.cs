using System.Text.Json.Serialization;

namespace PavementWatch.Gateway.Enrolment;

/// <summary>What the server answers to a good code: everything a gateway needs to run.</summary>
internal sealed record EnrolmentReply
{
    /// <summary>The gateway's name.</summary>
    [JsonRequired]
    public string Gateway { get; init; } = "";

    /// <summary>Its user name at the broker.</summary>
    [JsonRequired]
    public string User { get; init; } = "";

    /// <summary>Its password there; shown this once.</summary>
    [JsonRequired]
    public string Password { get; init; } = "";

    /// <summary>The broker's host name.</summary>
    [JsonRequired]
    public string BrokerHost { get; init; } = "";

    /// <summary>Its port.</summary>
    [JsonRequired]
    public int BrokerPort { get; init; }

    /// <summary>The authority to pin, PEM; empty where the broker speaks no TLS.</summary>
    public string? CaPem { get; init; }

    /// <summary>The spots the business set up for this gateway.</summary>
    public IReadOnlyList<EnrolledSpot> Spots { get; init; } = [];
}

/// <summary>A spot the gateway is to watch.</summary>
internal sealed record EnrolledSpot
{
    /// <summary>The spot's name on the wire.</summary>
    [JsonRequired]
    public string Id { get; init; } = "";

    /// <summary>What the ground is made of, e.g. <c>asphalt</c>.</summary>
    public string? Surface { get; init; }

    /// <summary>[fraction] Emissivity of this very surface.</summary>
    public double? EmissivityFraction { get; init; }

    /// <summary>[°C] From here it is too hot.</summary>
    public double? LimitCelsius { get; init; }
}
