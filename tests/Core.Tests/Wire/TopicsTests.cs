using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>Expected topics: the wire contract of the product (design, section 4).</summary>
public class TopicsTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    [Fact]
    public void Topics_of_a_gateway_are_as_the_contract_writes_them()
    {
        Assert.Equal("pavement/v1/north-gate/readings", Topics.Readings(Gate));
        Assert.Equal("pavement/v1/north-gate/status", Topics.Status(Gate));
        Assert.Equal("pavement/v1/north-gate/settings", Topics.Settings(Gate));
    }

    [Theory]
    [InlineData("pavement/v1/north-gate/readings", TopicKind.Readings)]
    [InlineData("pavement/v1/north-gate/status", TopicKind.Status)]
    [InlineData("pavement/v1/north-gate/settings", TopicKind.Settings)]
    public void A_topic_is_taken_apart(string topic, TopicKind expected)
    {
        Assert.True(Topics.TryParse(topic, out var gateway, out var kind));
        Assert.Equal(Gate, gateway);
        Assert.Equal(expected, kind);
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("pavement/v1/north-gate")]
    [InlineData("pavement/v1/north-gate/")]
    [InlineData("pavement/v1/north-gate/other")]
    [InlineData("pavement/v1/north-gate/readings/more")]
    [InlineData("pavement/v1//readings")]
    [InlineData("pavement/v1/+/readings")]
    [InlineData("pavement/v1/#")]
    [InlineData("pavement/v1/North-Gate/readings")]
    [InlineData("pavement/v2/north-gate/readings")]
    [InlineData("/pavement/v1/north-gate/readings")]
    public void What_is_not_our_topic_is_not_taken(string? topic)
    {
        Assert.False(Topics.TryParse(topic, out var gateway, out var kind));
        Assert.Equal(default, gateway);
        Assert.Equal(TopicKind.Unknown, kind);
    }

    [Fact]
    public void No_topic_is_made_for_no_gateway() =>
        Assert.Throws<ArgumentException>(() => Topics.Readings(default));
}
