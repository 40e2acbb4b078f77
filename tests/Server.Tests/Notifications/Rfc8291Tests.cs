using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>Source of every value: RFC 8291, Appendix A.</summary>
public sealed class Rfc8291Tests
{
    private const string Body =
        "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN";

    private static readonly byte[] Auth = Base64Url.DecodeFromChars("BTBZMqHH6r4Tts7J_aSIgg");

    [Fact]
    public void The_message_of_the_appendix_opens_to_its_plaintext()
    {
        using var device = Device();

        var plain = Rfc8291.Open(Base64Url.DecodeFromChars(Body), device, Auth);

        Assert.Equal("When I grow up, I want to be a watermelon", Encoding.UTF8.GetString(plain));
    }

    [Theory]
    [InlineData(0, "salt")]
    [InlineData(30, "sender's key")]
    [InlineData(90, "text")]
    [InlineData(143, "tag")]
    public void A_message_with_one_changed_byte_does_not_open(int at, string part)
    {
        using var device = Device();
        var body = Base64Url.DecodeFromChars(Body);
        body[at] ^= 1;

        Assert.True(Record.Exception(() => Rfc8291.Open(body, device, Auth)) is CryptographicException, part);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(86)]
    [InlineData(102)]
    public void A_message_that_is_cut_off_does_not_open(int bytes)
    {
        using var device = Device();

        Assert.ThrowsAny<CryptographicException>(() => Rfc8291.Open(Base64Url.DecodeFromChars(Body).AsSpan(0, bytes), device, Auth));
    }

    private static ECDiffieHellman Device()
    {
        var key = Rfc8291.Key(Base64Url.DecodeFromChars(
            "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"));
        key.D = Base64Url.DecodeFromChars("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94");
        return ECDiffieHellman.Create(key);
    }
}
