using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Checks;

/// <summary>What the analyst asks of a method; each setting is a row of its own, the newest rules.</summary>
internal sealed class AgreementThresholdsRow
{
    public int Id { get; init; }

    public required int LeastPairs { get; init; }

    public required double MostBiasKelvin { get; init; }

    public required double MostDifferenceKelvin { get; init; }

    public required double LeastSpanKelvin { get; init; }

    public required double ThermometerAccuracyKelvin { get; init; }

    public required DateTimeOffset SetAt { get; init; }

    /// <summary>Who set them; <c>null</c> for somebody who is no more.</summary>
    public int? PersonId { get; init; }

    /// <summary>Their name at that time.</summary>
    public required string PersonName { get; init; }
}

internal sealed class AgreementThresholdsRowConfiguration : IEntityTypeConfiguration<AgreementThresholdsRow>
{
    public void Configure(EntityTypeBuilder<AgreementThresholdsRow> builder)
    {
        builder.ToTable("AgreementThresholds");
    }
}
