using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Dogs;

/// <summary>A dog.</summary>
internal sealed class DogRow
{
    public int Id { get; init; }

    public required string Name { get; set; }

    public double? WeightKilograms { get; set; }

    public DateOnly? BornOn { get; set; }

    public bool FlatFaced { get; set; }

    public bool Overweight { get; set; }

    /// <summary>[°C] A lower limit for sore or young pads; <c>null</c> takes the spot's.</summary>
    public double? LimitCelsius { get; set; }
}

internal sealed class DogRowConfiguration : IEntityTypeConfiguration<DogRow>
{
    public void Configure(EntityTypeBuilder<DogRow> builder)
    {
        builder.ToTable("Dogs");
        builder.HasIndex(d => d.Name);
    }
}
