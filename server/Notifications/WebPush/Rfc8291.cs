using System.Buffers.Binary;
using System.Security.Cryptography;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>Opens a push message as a browser does: RFC 8291 with the content coding aes128gcm of RFC 8188, one record.</summary>
internal static class Rfc8291
{
    private const int SaltBytes = 16;
    private const int KeyBytes = 65;
    private const int TagBytes = 16;
    private const int HeaderBytes = SaltBytes + 4 + 1 + KeyBytes;

    /// <summary>Opens it.</summary>
    /// <param name="body">The request's body.</param>
    /// <param name="device">The device's key pair.</param>
    /// <param name="auth">The device's authentication secret, 16 bytes.</param>
    /// <returns>The plain text.</returns>
    /// <exception cref="CryptographicException">The body is not a message for this device.</exception>
    public static byte[] Open(ReadOnlySpan<byte> body, ECDiffieHellman device, byte[] auth)
    {
        if (body.Length < HeaderBytes + TagBytes + 1)
            throw new CryptographicException($"push body has {body.Length} bytes, expected more than {HeaderBytes + TagBytes}");
        var salt = body[..SaltBytes].ToArray();
        var recordSize = BinaryPrimitives.ReadUInt32BigEndian(body[SaltBytes..]);
        if (body[SaltBytes + 4] != KeyBytes)
            throw new CryptographicException($"push body's key has {body[SaltBytes + 4]} bytes, expected {KeyBytes}");
        var sealedPart = body[HeaderBytes..];
        if (sealedPart.Length > recordSize)
            throw new CryptographicException("push body has more than one record, which RFC 8291 forbids");

        var senderPoint = body.Slice(SaltBytes + 5, KeyBytes).ToArray();
        using var sender = ECDiffieHellman.Create(Key(senderPoint));
        var shared = device.DeriveRawSecretAgreement(sender.PublicKey);
        var own = device.ExportParameters(false).Q;
        byte[] keyInfo = [.. "WebPush: info\0"u8, 0x04, .. own.X!, .. own.Y!, .. senderPoint];
        var input = HKDF.DeriveKey(HashAlgorithmName.SHA256, shared, 32, auth, keyInfo);
        var key = HKDF.DeriveKey(HashAlgorithmName.SHA256, input, 16, salt, "Content-Encoding: aes128gcm\0"u8.ToArray());
        var nonce = HKDF.DeriveKey(HashAlgorithmName.SHA256, input, 12, salt, "Content-Encoding: nonce\0"u8.ToArray());

        var plain = new byte[sealedPart.Length - TagBytes];
        using (var aes = new AesGcm(key, TagBytes))
            aes.Decrypt(nonce, sealedPart[..^TagBytes], sealedPart[^TagBytes..], plain);
        // The last record's text ends with 0x02, then zeros (RFC 8188, section 2).
        var end = plain.AsSpan().LastIndexOfAnyExcept((byte)0);
        return end >= 0 && plain[end] == 0x02
            ? plain[..end]
            : throw new CryptographicException("push body has no end mark");
    }

    /// <summary>A public key from its uncompressed point.</summary>
    /// <exception cref="CryptographicException">The bytes are no point of P-256.</exception>
    public static ECParameters Key(ReadOnlySpan<byte> point)
    {
        if (point.Length != KeyBytes || point[0] != 0x04)
            throw new CryptographicException($"key has {point.Length} bytes, expected {KeyBytes} beginning with 4");
        var key = new ECParameters
        {
            Curve = ECCurve.NamedCurves.nistP256,
            Q = new ECPoint { X = point[1..33].ToArray(), Y = point[33..].ToArray() },
        };
        key.Validate();
        return key;
    }
}
