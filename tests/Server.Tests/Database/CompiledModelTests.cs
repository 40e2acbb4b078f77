using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Metadata;
using PavementWatch.Server.CompiledModel;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Tests.Database;

/// <summary>The model of the registry that is made ready beforehand, so that no start has to.</summary>
public sealed class CompiledModelTests
{
    [Fact]
    public void The_compiled_model_is_used_and_is_that_of_the_classes()
    {
        using var db = new RegistryDbAtDesignTime().CreateDbContext([]);

        Assert.Same(RegistryDbModel.Instance, db.Model);
        var (made, compiled) = (Lines(db.GetService<IDesignTimeModel>().Model), Lines(db.Model));
        var differ = made.Except(compiled).Select(line => $"missing: {line}").Concat(compiled.Except(made).Select(line => $"no more:  {line}")).ToList();
        Assert.True(
            differ.Count == 0,
            $"server/CompiledModel is not that of the classes; make it anew as DEVELOPERS.md says ('A table or a column of the registry').\n{string.Join('\n', differ)}");
        Assert.True(made.Count > 150, $"only {made.Count} facts were compared");
    }

    /// <summary>What a query or a change of rows needs to know.</summary>
    private static List<string> Lines(IModel model) =>
        [.. model.GetEntityTypes().SelectMany(type => type.GetProperties().Select(p =>
                $"{type.Name}.{p.Name}: {p.ClrType}, column {p.GetColumnName()} {p.GetColumnType()}, nullable {p.IsNullable}, {p.ValueGenerated}, "
                + $"kept as {p.GetTypeMapping().Converter?.ProviderClrType.Name ?? "it is"}, longest {p.GetMaxLength()}, token {p.IsConcurrencyToken}")
            .Concat(type.GetKeys().Select(key => $"{type.Name} key {Names(key.Properties)}, primary {key.IsPrimaryKey()}"))
            .Concat(type.GetIndexes().Select(index => $"{type.Name} index {Names(index.Properties)}, unique {index.IsUnique}"))
            .Concat(type.GetForeignKeys().Select(key =>
                $"{type.Name} refers by {Names(key.Properties)} to {key.PrincipalEntityType.Name}.{Names(key.PrincipalKey.Properties)}, {key.DeleteBehavior}, required {key.IsRequired}, unique {key.IsUnique}"))
            .Concat(type.GetNavigations().Select(navigation => $"{type.Name} leads by {navigation.Name} to {navigation.TargetEntityType.Name}"))
            .Append($"{type.Name} in table {type.GetTableName()}")).Order(StringComparer.Ordinal)];

    private static string Names(IEnumerable<IReadOnlyProperty> properties) => string.Join("+", properties.Select(p => p.Name));
}
