using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>A message as it arrived at a device, opened.</summary>
/// <param name="Device">The device's name.</param>
/// <param name="Text">The plain text.</param>
/// <param name="TimeToLiveSeconds">[s] From the TTL header.</param>
/// <param name="Urgency">From the Urgency header.</param>
/// <param name="Topic">From the Topic header.</param>
/// <param name="Sender">The sender's public key, base64url, whose signature was verified.</param>
internal sealed record PushArrival(
    string Device, string Text, int TimeToLiveSeconds, string Urgency, string Topic, string Sender);

/// <summary>A push service and its devices on this machine: opens what is sent to them as a browser would. For the demo and the tests.</summary>
internal sealed class PushReceiver(Func<PushArrival, Task<int>> arrived)
{
    private const int MaxBody = 4096;
    private readonly ConcurrentDictionary<string, Device> _devices = [];

    /// <summary>A new device.</summary>
    /// <returns>Its public key and its authentication secret, base64url, as a browser's subscription gives them.</returns>
    public (string P256dh, string Auth) Add(string device)
    {
        var made = _devices.GetOrAdd(device, _ => new Device(
            ECDiffieHellman.Create(ECCurve.NamedCurves.nistP256), RandomNumberGenerator.GetBytes(16)));
        var point = made.Key.ExportParameters(false).Q;
        return (Base64Url.EncodeToString([0x04, .. point.X!, .. point.Y!]), Base64Url.EncodeToString(made.Auth));
    }

    /// <summary>Answers <c>POST /push/{device}</c>.</summary>
    public void Map(IEndpointRouteBuilder routes) =>
        routes.MapPost("/push/{device}", ReceiveAsync).AllowAnonymous().DisableAntiforgery().ExcludeFromDescription();

    private async Task<IResult> ReceiveAsync(string device, HttpRequest request, CancellationToken cancellationToken)
    {
        if (!_devices.TryGetValue(device, out var known))
            return Results.StatusCode(StatusCodes.Status410Gone);
        using var body = new MemoryStream();
        await request.Body.CopyToAsync(body, cancellationToken);
        if (body.Length > MaxBody)
            return Results.StatusCode(StatusCodes.Status413PayloadTooLarge);
        if (VerifiedSender(request.Headers.Authorization.ToString()) is not { } sender)
            return Results.StatusCode(StatusCodes.Status401Unauthorized);
        if (request.Headers.ContentEncoding != "aes128gcm" || !int.TryParse(request.Headers["TTL"], out var seconds))
            return Results.StatusCode(StatusCodes.Status400BadRequest);
        try
        {
            var text = Encoding.UTF8.GetString(Rfc8291.Open(body.ToArray(), known.Key, known.Auth));
            return Results.StatusCode(await arrived(new PushArrival(
                device, text, seconds, request.Headers["Urgency"].ToString(), request.Headers["Topic"].ToString(), sender)));
        }
        catch (CryptographicException e)
        {
            return Results.Problem(statusCode: StatusCodes.Status400BadRequest, detail: e.Message);
        }
    }

    // Authorization: vapid t=<token>,k=<key> (RFC 8292, section 3); the token is ES256 over its first two parts.
    private static string? VerifiedSender(string authorization)
    {
        const string Scheme = "vapid ";
        if (!authorization.StartsWith(Scheme, StringComparison.OrdinalIgnoreCase))
            return null;
        var fields = authorization[Scheme.Length..].Split(',').Select(f => f.Trim().Split('=', 2))
            .Where(f => f.Length == 2).ToDictionary(f => f[0], f => f[1]);
        if (!fields.TryGetValue("t", out var token) || !fields.TryGetValue("k", out var key) || token.Split('.') is not [var head, var claims, var signature])
            return null;
        using var sender = ECDsa.Create(Rfc8291.Key(Base64Url.DecodeFromChars(key)));
        if (!sender.VerifyData(Encoding.ASCII.GetBytes($"{head}.{claims}"), Base64Url.DecodeFromChars(signature), HashAlgorithmName.SHA256))
            return null;
        using var said = JsonDocument.Parse(Base64Url.DecodeFromChars(claims));
        return said.RootElement.TryGetProperty("aud", out _) && said.RootElement.TryGetProperty("exp", out _)
            && said.RootElement.TryGetProperty("sub", out _)
            ? key
            : null;
    }

    private sealed record Device(ECDiffieHellman Key, byte[] Auth);
}
