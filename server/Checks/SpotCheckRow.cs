using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Checks;

/// <summary>A hand-held thermometer reading at a spot.</summary>
internal sealed class SpotCheckRow
{
    public int Id { get; init; }

    public required string SpotId { get; init; }

    public required DateTimeOffset At { get; init; }

    /// <summary>[°C] What the thermometer showed; put right for its emissivity setting only when it is compared.</summary>
    public required double ShownCelsius { get; init; }

    /// <summary>[fraction] The emissivity the thermometer was set to; <c>null</c> for one that touches the ground.</summary>
    public double? EmissivityFraction { get; init; }

    /// <summary>What the ground was like.</summary>
    public CheckedGround Ground { get; init; }

    /// <summary>Who entered or imported it; <c>null</c> when the operator did.</summary>
    public int? PersonId { get; init; }

    /// <summary>When it was entered or imported.</summary>
    public DateTimeOffset EnteredAt { get; init; }

    /// <summary>What it was measured with.</summary>
    public string Instrument { get; init; } = "";

    public string Note { get; init; } = "";
}

internal sealed class SpotCheckRowConfiguration : IEntityTypeConfiguration<SpotCheckRow>
{
    public void Configure(EntityTypeBuilder<SpotCheckRow> builder)
    {
        builder.ToTable("SpotChecks");
        builder.HasIndex(c => new { c.SpotId, c.At });
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(c => c.SpotId);
    }
}
