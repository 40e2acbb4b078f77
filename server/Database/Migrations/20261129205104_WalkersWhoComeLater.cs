using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class WalkersWhoComeLater : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_BusinessNotices_EventId_Channel",
                table: "BusinessNotices");

            migrationBuilder.AddColumn<long>(
                name: "ForbiddenSince",
                table: "PushSubscriptions",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "CameLater",
                table: "BusinessNotices",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.CreateTable(
                name: "ConcernedWalkers",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    EventId = table.Column<int>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<int>(type: "INTEGER", nullable: false),
                    Since = table.Column<long>(type: "INTEGER", nullable: false),
                    Unseen = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ConcernedWalkers", x => x.Id);
                    table.ForeignKey(
                        name: "FK_ConcernedWalkers_AlertEvents_EventId",
                        column: x => x.EventId,
                        principalTable: "AlertEvents",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_BusinessNotices_EventId_CameLater_Channel",
                table: "BusinessNotices",
                columns: new[] { "EventId", "CameLater", "Channel" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_ConcernedWalkers_EventId_PersonId",
                table: "ConcernedWalkers",
                columns: new[] { "EventId", "PersonId" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_ConcernedWalkers_Unseen",
                table: "ConcernedWalkers",
                column: "Unseen");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "ConcernedWalkers");

            migrationBuilder.DropIndex(
                name: "IX_BusinessNotices_EventId_CameLater_Channel",
                table: "BusinessNotices");

            migrationBuilder.DropColumn(
                name: "ForbiddenSince",
                table: "PushSubscriptions");

            migrationBuilder.DropColumn(
                name: "CameLater",
                table: "BusinessNotices");

            migrationBuilder.CreateIndex(
                name: "IX_BusinessNotices_EventId_Channel",
                table: "BusinessNotices",
                columns: new[] { "EventId", "Channel" },
                unique: true);
        }
    }
}
