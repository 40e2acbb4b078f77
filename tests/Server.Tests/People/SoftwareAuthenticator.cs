using System.Buffers.Binary;
using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace PavementWatch.Server.Tests.People;

/// <summary>A phone's passkey without a browser: answers what <c>navigator.credentials</c> would, with one key of its own.</summary>
/// <param name="origin">The page's, as the browser says it.</param>
internal sealed class SoftwareAuthenticator(string origin) : IDisposable
{
    private const byte PresentAndVerified = 0x05;
    private const byte BringsItsKey = 0x40;

    private readonly ECDsa _key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly byte[] _id = RandomNumberGenerator.GetBytes(16);
    private string _user = "";
    private uint _count;

    /// <summary>What <c>navigator.credentials.create</c> gives back, as JSON.</summary>
    /// <param name="options">What the server offered.</param>
    public string Create(string options)
    {
        using var json = JsonDocument.Parse(options);
        _user = json.RootElement.GetProperty("user").GetProperty("id").GetString()!;
        var point = _key.ExportParameters(includePrivateParameters: false).Q;
        // COSE: an elliptic key, ES256, P-256, x, y.
        byte[] key = [0xA5, 0x01, 0x02, 0x03, 0x26, 0x20, 0x01, 0x21, 0x58, 0x20, .. point.X!, 0x22, 0x58, 0x20, .. point.Y!];
        byte[] data = [.. Begin(json.RootElement.GetProperty("rp").GetProperty("id").GetString()!, PresentAndVerified | BringsItsKey), .. new byte[16], 0, (byte)_id.Length, .. _id, .. key];
        // CBOR: {"fmt": "none", "attStmt": {}, "authData": data}.
        byte[] attestation =
            [0xA3, 0x63, .. "fmt"u8, 0x64, .. "none"u8, 0x67, .. "attStmt"u8, 0xA0, 0x68, .. "authData"u8, 0x58, (byte)data.Length, .. data];
        return Credential(new Dictionary<string, object>
        {
            ["clientDataJSON"] = Base64Url.EncodeToString(Client("webauthn.create", json)),
            ["attestationObject"] = Base64Url.EncodeToString(attestation),
            ["transports"] = new[] { "internal" },
        });
    }

    /// <summary>What <c>navigator.credentials.get</c> gives back, as JSON.</summary>
    /// <param name="options">What the server asked.</param>
    public string Get(string options)
    {
        using var json = JsonDocument.Parse(options);
        var client = Client("webauthn.get", json);
        var data = Begin(json.RootElement.GetProperty("rpId").GetString()!, PresentAndVerified);
        return Credential(new Dictionary<string, object>
        {
            ["clientDataJSON"] = Base64Url.EncodeToString(client),
            ["authenticatorData"] = Base64Url.EncodeToString(data),
            ["signature"] = Base64Url.EncodeToString(_key.SignData([.. data, .. SHA256.HashData(client)], HashAlgorithmName.SHA256, DSASignatureFormat.Rfc3279DerSequence)),
            ["userHandle"] = _user,
        });
    }

    public void Dispose() => _key.Dispose();

    private byte[] Begin(string party, byte flags)
    {
        var count = new byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(count, ++_count);
        return [.. SHA256.HashData(Encoding.UTF8.GetBytes(party)), flags, .. count];
    }

    private byte[] Client(string type, JsonDocument options) => JsonSerializer.SerializeToUtf8Bytes(
        new { type, challenge = options.RootElement.GetProperty("challenge").GetString(), origin, crossOrigin = false });

    private string Credential(Dictionary<string, object> response) => JsonSerializer.Serialize(new
    {
        id = Base64Url.EncodeToString(_id),
        rawId = Base64Url.EncodeToString(_id),
        type = "public-key",
        authenticatorAttachment = "platform",
        clientExtensionResults = new { },
        response,
    });
}
